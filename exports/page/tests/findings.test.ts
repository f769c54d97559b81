import assert from "node:assert/strict";
import { test } from "node:test";
import { beside, listed } from "../source/findings/choice.ts";
import { ofFinding } from "../source/moment/finding.ts";
import { stepOfFinding, stepOfPart } from "../source/moment/going.ts";
import type { Finding, Stage, Step, Walk } from "../source/walk.ts";
import { at, finding, HERE, made, part } from "./made.ts";

const shown = (...parts: number[]): Finding["shown"] => parts.map((p) => ({ part: p, at: at(0, 0, 100 * p), shape: 0 }));

test("the worst comes first, else as numbered; one weight alone when it is asked for", () => {
  const findings = [finding(3, "note"), finding(2, "warn"), finding(1, "stop"), finding(4, "warn")];
  assert.deepEqual(listed(findings), [2, 1, 3, 0]);
  assert.deepEqual(listed(findings, "warn"), [1, 3]);
  assert.deepEqual([beside([2, 1, 3], 1, -1), beside([2, 1, 3], 1, 1), beside([2, 1, 3], 3, 1), beside([2, 1], 7, 1)], [2, 3, null, null]);
});

test("the sign in the work has the number of the list, and stands at the spot", () => {
  const walk = made({ findings: [finding(9, "stop", { at: [5, 6, 7], parts: [0], shown: shown(0, 1) })] });
  const moment = ofFinding(walk, 0, 1, "wrong");
  assert.deepEqual(moment.signs, [{ at: [5, 6, 7], look: "finding", says: "9" }]);
  assert.deepEqual(moment.pieces.map((p) => p.role), ["wrong", "around"]);
});

test("drawn apart by a share, with a line true to the amount", () => {
  const gap = finding(1, "stop", { at: [0, 0, 0], amount: "3 mm", parts: [0, 1], shown: shown(0, 1), apart: [{ part: 1, by: [0, 0, 200] }] });
  const moment = ofFinding(made({ findings: [gap] }), 0, 0.5, "wrong");
  assert.deepEqual(moment.pieces.map((p) => p.at[11]), [0, 200]);
  assert.deepEqual(moment.lines.filter((l) => l.look === "trail").map((l) => l.points), [[[0, 0, 0], [0, 0, 100]]]);
  assert.deepEqual(moment.lines.filter((l) => l.look === "measure").map((l) => l.points), [[[0, 0, 0], [0, 0, 3]]]);
  assert.ok(moment.signs.some((s) => s.look === "label" && s.says === "3 mm"));
  const shut = ofFinding(made({ findings: [gap] }), 0, 0, "wrong");
  assert.deepEqual(shut.lines.filter((l) => l.look === "trail"), []);
});

test("a part turned round stands wrong, swings, and stands right; its mark goes with it", () => {
  const turned = { part: 0, wrong: HERE, right: at(50, 0, 0), wrongShape: 0, rightShape: 1, wrongSays: "", rightSays: "", others: [] } as unknown as Finding["turned"];
  const cross = { at: [10, 10, 20] as [number, number, number], out: [0, 0, 1] as [number, number, number], arrow: null, says: "A cross on the face." };
  const walk = made({ parts: [part("rail", "A", { pencil: [cross] })], findings: [finding(1, "note", { parts: [0], shown: shown(0), turned, pencil: { part: 0, mark: 0 } })] });
  const seen = (way: "wrong" | "right" | number): [string, number, number] => {
    const [piece] = ofFinding(walk, 0, 0, way).pieces;
    return [piece!.role, piece!.shape, piece!.at[3]];
  };
  assert.deepEqual(seen("wrong"), ["wrong", 0, 0]);
  assert.equal(seen(0.4)[0], "wrong");
  assert.equal(seen(0.6)[1], 1);
  assert.deepEqual(seen("right"), ["right", 1, 50]);
  const sign = ofFinding(walk, 0, 0, "right").signs.find((s) => s.look === "pencil")!;
  assert.deepEqual(sign.at, [60, 10, 20.5]);
});

test("a finding leads to the first step that names it, else to its stage's first", () => {
  const steps = [{ findings: [], moves: [] }, { findings: [1], moves: [{ parts: [2] }] }] as unknown as Step[];
  const walk: Walk = made({ steps, stages: [{ first: 0 }] as unknown as Stage[], findings: [finding(1, "stop", { stage: 0 }), finding(2, "stop"), finding(3, "note")] });
  assert.deepEqual([stepOfFinding(walk, 0), stepOfFinding(walk, 1), stepOfFinding(walk, 2), stepOfPart(walk, 2), stepOfPart(walk, 0)], [0, 1, null, 1, 0]);
});

test("a finding that is no longer there draws nothing and breaks nothing", () => {
  assert.deepEqual(ofFinding(made(), 77, 1, "wrong").pieces, []);
});
