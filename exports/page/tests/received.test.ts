import assert from "node:assert/strict";
import { test } from "node:test";
import { carried, received } from "../source/received.ts";
import type { Sent } from "../source/received.ts";
import type { Frame, Walk } from "../source/walk.ts";
import { at, finding, HERE, made } from "./made.ts";

const walk = made();
/** A quarter turn about x that lays upright work on its back, and lifts it. */
const LAID: Frame = [1, 0, 0, 0, 0, 0, 1, 0, 0, -1, 0, 25];

function sent(): Sent {
  const { parts } = walk;
  const columns = Object.keys(parts[0]!).filter((column) => column !== "joints");
  const rows = parts.map((part) => columns.map((column) => part[column as keyof typeof part]));
  const stage = {
    number: 1, name: "one", title: "Stage 1", on: "floor" as const, frame: LAID, bench: null, first: 0, end: 0, box: walk.box,
    time: { open: 0, closed: 0, openUsed: 0, closedUsed: 0, needed: 0, clamped: 0, load: 0 }, people: 1, says: [],
  };
  const nothing = { columns: [], rows: [], values: {} };
  return {
    ...walk, sent: true, parts: { columns, rows, values: {} }, steps: nothing,
    joints: { columns: ["part", "name", "says"], rows: [[2, "end", 1], [2, "start", 1], [0, "end", 0]], values: { says: ["dry", "glued"] } },
    things: { columns: ["stage", "kind", "at"], rows: [[0, "pad", 0], [0, "bar", 0]], values: { at: [HERE] } },
    stages: [{ ...stage, pieces: { parts: [0, 2], at: {}, shapes: {} } },
      { ...stage, number: 2, frame: HERE, pieces: { parts: [2, 3, 4], at: { 2: at(1, 2, 3) }, shapes: { 0: 0 } } }],
    findings: [{ ...finding(1, "stop", { stage: 0 }), shown: { parts: [3], at: {}, shapes: {} } },
      { ...finding(2, "warn"), shown: { parts: [3], at: {}, shapes: {} } }],
  } as unknown as Sent;
}

test("what was sent whole comes through as it is", () => {
  assert.equal(received(walk), walk);
});

test("pieces stand where the finished work and the stage say, or where they are told to", () => {
  const back = received(sent());
  const [one, two] = back.stages;
  assert.deepEqual(one!.pieces.map((piece) => piece.part), [0, 2]);
  assert.deepEqual(one!.pieces[0]!.at, carried(LAID, walk.parts[0]!.home!));
  assert.deepEqual(one!.pieces[0]!.at.filter((_, k) => k % 4 === 3), [50, 300, 25]);
  assert.deepEqual(two!.pieces[2]!.at, at(1, 2, 3));
  assert.deepEqual(two!.pieces.map((piece) => piece.shape), [0, 1, 0]);
  assert.deepEqual([...one!.pieces, ...two!.pieces].map((piece) => piece.before), [false, false, true, false, false]);
});

test("a finding's pieces lie as its stage does, and stand where it has none", () => {
  const back = received(sent());
  assert.deepEqual(back.findings[0]!.shown[0]!.at, carried(LAID, walk.parts[3]!.home!));
  assert.deepEqual(back.findings[1]!.shown[0]!.at, walk.parts[3]!.home);
});

test("joints and things come back to their parts and stages, and nothing of the sending is left", () => {
  const back: Walk = received(sent());
  assert.deepEqual(back.parts[2]!.joints, [{ name: "end", says: "glued" }, { name: "start", says: "glued" }]);
  assert.deepEqual(back.parts[0]!.joints, [{ name: "end", says: "dry" }]);
  assert.deepEqual(back.stages.map((stage) => stage.things.length), [2, 0]);
  assert.deepEqual(Object.keys(back).sort(), Object.keys(walk).sort());
});

test("a piece that stands nowhere and is not told where is a fault that is said", () => {
  const spoilt = sent();
  spoilt.stages[1]!.pieces.at = {};
  assert.throws(() => received(spoilt), /piece 4/);
});
