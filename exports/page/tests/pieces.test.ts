import assert from "node:assert/strict";
import { test } from "node:test";
import { ofPieces, type How } from "../source/moment/pieces.ts";
import { count, found, sameAs, upTo } from "../source/pieces/search.ts";
import { made, part } from "./made.ts";

const names = (typed: string): string[] => found(made(), typed).flatMap((group) => group.parts.map((i) => made().parts[i]!.name));
const how = (more: Partial<How> = {}): How => ({ apart: 0, piece: null, hidden: new Set(), alone: false, ...more });

test("pieces are found by name or mark, in any case, with or without noughts and underlines", () => {
  assert.deepEqual(names("rail 7"), ["rail_07"]);
  assert.deepEqual(names("RAIL_07"), ["rail_07"]);
  assert.deepEqual(names("rail-7"), ["rail_07"]);
  assert.deepEqual(names("post  left"), ["post_left"]);
  assert.deepEqual(names("left post"), ["post_left"]);
  assert.deepEqual(names("bb").slice(0, 1), ["post_right"]);
  assert.deepEqual(names("ost_r"), ["post_right"]); // no word begins so: what holds it
  assert.deepEqual(names("zebra"), []);
  assert.equal(names("  ").length, 5);
});

test("a mark comes before names that merely begin with its letter", () => {
  const walk = made({ parts: [part("apron", "B"), part("rail", "A"), part("slat", "C")] });
  assert.deepEqual(found(walk, "a").map((group) => group.mark), ["A", "B"]);
});

test("the list is by mark, with how many, and their size where they share it", () => {
  const groups = found(made(), "");
  assert.deepEqual(groups.map((g) => [g.mark, g.parts.length]), [["A", 2], ["Ba", 1], ["Bb", 1], ["", 1]]);
  assert.equal(groups[0]!.size, "600 × 40 × 20 mm");
  assert.deepEqual(sameAs(made(), 0), [1]);
  assert.deepEqual(sameAs(made(), 4), []);
});

test("a long list is cut to as many as are asked for", () => {
  const walk = made({ parts: Array.from({ length: 1000 }, (_, i) => part(`rail_${i}`, `M${i % 13}`)) });
  const groups = found(walk, "");
  assert.equal(count(groups), 1000);
  assert.equal(count(upTo(groups, 60)), 60);
  assert.equal(count(upTo(groups, 5000)), 1000);
});

test("spread apart, each piece stands where the proven ways put it", () => {
  const moment = ofPieces(made(), how({ apart: 0.5 }));
  assert.equal(moment.pieces.length, 4); // the spacer has left
  assert.deepEqual(moment.pieces[1]!.at.slice(8), [0, 0, 1, 640]);
  assert.deepEqual(moment.box, [[0, 0, 0], [750, 60, 900]]);
});

test("the chosen piece is marked, those lit with it as well, and hidden ones are not there", () => {
  const moment = ofPieces(made(), how({ piece: 0, lit: new Set([1]), hidden: new Set([2]) }));
  assert.deepEqual(moment.pieces.map((p) => [p.part, p.role]), [[0, "moving"], [1, "right"], [3, "around"]]);
  assert.deepEqual(moment.signs.map((s) => s.says), ["A", "A"]);
  assert.equal(moment.arrows[0]!.look, "grain");
});

test("alone, a piece is there even when it was hidden, and the work flies to it", () => {
  const moment = ofPieces(made(), how({ piece: 0, alone: true, hidden: new Set([0]) }));
  assert.deepEqual(moment.pieces.map((p) => p.part), [0]);
  assert.deepEqual(moment.box, [[50, 0, 300], [650, 40, 320]]);
  assert.notEqual(moment.look, ofPieces(made(), how()).look);
});

test("a mark of any length is cut short in the work", () => {
  const walk = made({ parts: [part("rail", "Q".repeat(10_000))] });
  const [sign] = ofPieces(walk, how({ piece: 0 })).signs;
  assert.equal(sign!.says, `${"Q".repeat(23)}…`);
});
