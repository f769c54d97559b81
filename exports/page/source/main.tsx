/** Begins the page: reads the rehearsal from the document and shows it in place of the static words. */

import "./page.css";
import "./paper.css";
import "./cards.css";
import { effect } from "@preact/signals";
import { render } from "preact";
import { start } from "./live/start.ts";
import { resume } from "./order/running.ts";
import { received } from "./received.ts";
import type { Sent } from "./received.ts";
import { followAddress } from "./shell/address.ts";
import { askDrawing, undrawn } from "./shell/drawing.ts";
import { Page } from "./shell/Page.tsx";
import { keepChoices } from "./shell/theme.ts";
import { walk } from "./state.ts";
import type { Walk } from "./walk.ts";

function begin(): void {
  const root = document.getElementById("page");
  const data = document.getElementById("walk")?.textContent;
  if (!root || !data) return;
  walk.value = received(JSON.parse(data) as Walk | Sent);
  askDrawing();
  keepChoices();
  followAddress();
  resume();
  effect(() => { document.documentElement.dataset["page"] = undrawn.value === "" ? "drawn" : "undrawn"; });
  render(<Page />, root);
  start();
  if (undrawn.value !== "") ready();
}

/** Where nothing is drawn the page is ready as soon as it stands. */
function ready(): void {
  document.documentElement.dataset["ready"] = "yes";
  performance.mark("ready");
}

begin();
