/** The line to the server: it says when there is something new, and what is wrong in the file. */

import { signal } from "@preact/signals";
import { problems, rebuilding, walk } from "../state.ts";
import { received } from "../received.ts";
import type { Sent } from "../received.ts";
import type { FileProblem, Walk } from "../walk.ts";
import { take } from "./keeping.ts";

/** Whether the server has stopped answering. */
export const gone = signal(false);

interface State {
  version: number;
  problems: FileProblem[];
  rebuilding: string;
}

let wanted = 0;
let fetching = false;

/** Listens to the server for as long as the page is open. */
export function listen(): void {
  const events = new EventSource("events");
  events.onopen = () => { gone.value = false; };
  events.onerror = () => { gone.value = true; };
  events.onmessage = (event: MessageEvent<string>) => { hear(JSON.parse(event.data) as State); };
}

function hear(state: State): void {
  problems.value = state.problems;
  rebuilding.value = state.rebuilding;
  wanted = state.version;
  void fetchNewest();
}

/** Fetches the newest data; what becomes newer meanwhile is fetched after it. */
async function fetchNewest(): Promise<void> {
  if (fetching) return;
  fetching = true;
  try {
    while (walk.peek().live?.version !== wanted) {
      const asked = wanted;
      const answer = await fetch("data.json", { cache: "no-store" });
      if (!answer.ok) break;
      take(received(await answer.json() as Walk | Sent));
      if (wanted === asked) break;
    }
  } catch {
    gone.value = true;
  } finally {
    fetching = false;
  }
}
