/** How it is shown, and the keys: two folded lists at the foot of the card. */

import { signal } from "@preact/signals";
import { useEffect, useRef, useState } from "preact/hooks";
import { theme } from "../state.ts";
import { through } from "../order/player.ts";
import { KEYS } from "./keyboard.ts";

/** Counts up when the list of keys is asked for. */
export const keysShown = signal(0);

const THEMES = ["as the device", "light", "dark"] as const;

export function Settings() {
  return (
    <footer class="settings">
      <details class="fold">
        <summary>How it is shown</summary>
        <fieldset>
          <legend>Paper</legend>
          {THEMES.map((one) => (
            <label class="check" key={one}>
              <input type="radio" name="theme" checked={theme.value === one} onChange={() => { theme.value = one; }} /> {one}
            </label>
          ))}
        </fieldset>
        <label class="check">
          <input type="checkbox" checked={through.value}
            onChange={(event) => { through.value = event.currentTarget.checked; }} /> Play on from stage to stage
        </label>
      </details>
      <Keys />
    </footer>
  );
}

function Keys() {
  const box = useRef<HTMLDetailsElement>(null);
  const [opened, setOpened] = useState(false);
  const asked = keysShown.value;
  useEffect(() => {
    if (asked === 0) return;
    setOpened(true);
    box.current?.querySelector("summary")?.focus();
    box.current?.scrollIntoView({ block: "nearest" });
  }, [asked]);
  return (
    <details class="fold keys" ref={box} open={opened} onToggle={(event) => { setOpened(event.currentTarget.open); }}>
      <summary>Keys</summary>
      <dl>{KEYS.map(([key, does]) => <div key={key}><dt>{key}</dt><dd>{does}</dd></div>)}</dl>
    </details>
  );
}
