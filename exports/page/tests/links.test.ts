/** Addresses that open at a place. */

import assert from "node:assert/strict";
import { test } from "node:test";
import { linkTo, placeIn, stepNamed } from "../source/shell/links.ts";
import { finding, part } from "./made.ts";
import { staged } from "./staged.ts";

const walk = staged({ findings: [finding(3, "stop")] });
walk.parts.push(part("a & b <i>=#", ""));

test("there and back, for steps, findings and pieces with any name", () => {
  for (const place of [{ kind: "step", step: 4 }, { kind: "step", step: walk.steps.length - 1 }, { kind: "finding", finding: 0 },
    { kind: "piece", piece: 0 }, { kind: "piece", piece: walk.parts.length - 1 }] as const) {
    assert.deepEqual(placeIn(linkTo(place, walk), walk), place);
  }
  assert.equal(linkTo({ kind: "step", step: 4 }, walk), "#step=1.5");
});

test("what names nothing opens nothing", () => {
  for (const hash of ["", "#", "#step", "#step=", "#step=9.1", "#finding=1", "#piece=none", "#step=%E0%A4%A", "#other=1", "#step=constructor", "#step=1.x"]) {
    assert.equal(placeIn(hash, walk), null, hash);
  }
});

test("a step that a shorter stage no longer has opens at the stage's last", () => {
  assert.equal(stepNamed("1.99", walk), 11);
  assert.equal(stepNamed("end", walk), 12);
  assert.equal(stepNamed("7.1", walk), null);
});
