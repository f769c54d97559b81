/** The page: the work, the card beside or below it, and the rule with Back, Play and Next along the bottom. */

import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { Findings } from "../findings/Findings.tsx";
import { Numbers } from "../live/Numbers.tsx";
import { Problems } from "../live/Problems.tsx";
import { Strips, Tools } from "../measure/Tools.tsx";
import { Order } from "../order/Order.tsx";
import { Back, Next, Play } from "../order/Player.tsx";
import { pause } from "../order/player.ts";
import { Rule } from "../order/Rule.tsx";
import { Run } from "../order/Run.tsx";
import { clock, hand } from "../order/running.ts";
import { Pieces } from "../pieces/Pieces.tsx";
import { Touched } from "../pieces/Touched.tsx";
import { View } from "../scene/View.tsx";
import { playing, tab, walk } from "../state.ts";
import { undrawn } from "./drawing.ts";
import { onKey } from "./keyboard.ts";
import { Settings } from "./Settings.tsx";
import { Spoken } from "./Spoken.tsx";
import { Panel, Tabs } from "./Tabs.tsx";

export function Page() {
  useEffect(() => {
    document.addEventListener("keydown", onKey);
    return () => { document.removeEventListener("keydown", onKey); };
  }, []);
  const doing = clock.value !== null;
  const layout = doing ? `page doing ${hand.value}` : "page";
  return (
    <>
      {!doing && <a class="skip" href="#card" onClick={toCard}>To the card</a>}
      <Frame layout={layout}>
        <Work />
        {doing ? <Run /> : <Card />}
        {!doing && <Going />}
      </Frame>
      <Spoken />
    </>
  );
}

/** The main thing on the page; where nothing can be drawn that is the words below, which are a main part already. */
function Frame({ layout, children }: { layout: string; children: ComponentChildren }) {
  if (undrawn.value === "") return <main class={layout}>{children}</main>;
  return <section class={`${layout} undrawn`} aria-label="Going through it">{children}</section>;
}

function toCard(event: MouseEvent): void {
  event.preventDefault();
  document.getElementById("panel")?.focus();
}

function Work() {
  if (undrawn.value !== "") return <p class="why-undrawn">{undrawn.value}</p>;
  return (
    <section class="standing" aria-label="The work" onPointerDown={stopPlaying}>
      <View />
      <Tools />
      <Touched />
    </section>
  );
}

function stopPlaying(): void {
  if (playing.value) pause();
}

function Card() {
  return (
    <section class="card" id="card" aria-label="The card" onPointerDown={stopPlaying}>
      <h1>{walk.value.title}</h1>
      <Tabs />
      <Strips />
      <Panel>
        <Problems />
        {{ order: <Order />, findings: <Findings />, pieces: <Pieces />, numbers: <Numbers /> }[tab.value]}
        <Settings />
      </Panel>
    </section>
  );
}

function Going() {
  return (
    <section class="going" aria-label="Going through the order">
      <Rule />
      <Back />
      <Play />
      <Next />
    </section>
  );
}
