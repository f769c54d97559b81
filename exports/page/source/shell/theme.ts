/** Choices that a person makes once: light or dark, ghosts, the hand; kept where the browser keeps things. */

import { effect } from "@preact/signals";
import { coming, theme } from "../state.ts";
import { through } from "../order/player.ts";
import { beeps, hand, shelf } from "../order/running.ts";

const KEY = "dryfit choices";

interface Choices { theme: string; coming: string; hand: string; through: boolean; beeps: boolean }

function kept(): Partial<Choices> {
  try {
    const found: unknown = JSON.parse(shelf()?.getItem(KEY) ?? "{}");
    return typeof found === "object" && found !== null ? found : {};
  } catch {
    return {};
  }
}

/** Takes up the choices made before, and keeps every new one. */
export function keepChoices(): void {
  const before = kept();
  if (before.theme === "light" || before.theme === "dark") theme.value = before.theme;
  if (before.coming === "ghost") coming.value = "ghost";
  if (before.hand === "left") hand.value = "left";
  through.value = before.through === true;
  beeps.value = before.beeps === true;
  effect(() => {
    const root = document.documentElement;
    if (theme.value === "as the device") delete root.dataset["theme"];
    else root.dataset["theme"] = theme.value;
  });
  effect(() => {
    const choices: Choices = { theme: theme.value, coming: coming.value, hand: hand.value, through: through.value, beeps: beeps.value };
    try {
      shelf()?.setItem(KEY, JSON.stringify(choices));
    } catch {
      // Nothing is kept then; the page works all the same.
    }
  });
}
