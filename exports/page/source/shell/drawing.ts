/** Whether the work can be drawn here in three dimensions, and the sentence that says why not. */

import { signal } from "@preact/signals";

/** Why nothing is drawn; "" while it is. */
export const undrawn = signal("");

/** Asks the browser once. */
export function askDrawing(): void {
  try {
    const context = document.createElement("canvas").getContext("webgl2");
    if (!context) throw new Error("none");
    context.getExtension("WEBGL_lose_context")?.loseContext();
  } catch {
    undrawn.value = "This browser cannot draw the work in three dimensions: it has no WebGL 2, or it is turned off. " +
      "The pictures and the words below say the same.";
  }
}
