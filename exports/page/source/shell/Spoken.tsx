/** What is read out when the step changes, once it rests; while playing, only its title. */

import { useEffect, useState } from "preact/hooks";
import { playing, step, tab, walk } from "../state.ts";
import { spoken } from "../order/Rule.tsx";

const RESTS = 350;

export function Spoken() {
  const [said, say] = useState("");
  const now = walk.value.steps[step.value];
  const text = tab.value === "order" ? `${spoken()}. ${playing.value ? "" : (now?.says ?? []).join(" ")}` : "";
  useEffect(() => {
    const wait = setTimeout(() => { say(text); }, RESTS);
    return () => { clearTimeout(wait); };
  }, [text]);
  return <p class="unseen" role="status" aria-live="polite">{said}</p>;
}
