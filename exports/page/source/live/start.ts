/** Begins what only a page served by `dryfit walk` has: it follows the design file while it is being changed. */

import { walk } from "../state.ts";
import { listen } from "./connection.ts";
import { openLater } from "./keeping.ts";
import { renewed } from "./numbers.ts";

/** Does nothing on a page that is not served. */
export function start(): void {
  const live = walk.peek().live;
  if (live === null) return;
  if (!walk.peek().planned) openLater(location.hash);
  renewed(live.numbers);
  listen();
}
