/** A small rehearsal made by hand for tests: two posts and two rails alike, one finding of each weight. */

import type { Finding, Frame, Part, Shape, Walk } from "../source/walk.ts";

export const HERE: Frame = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];
export const at = (x: number, y: number, z: number): Frame => [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z];

export const shape = (x: number, y: number, z: number): Shape => ({ corners: "", triangles: "", edges: "", box: [[0, 0, 0], [x, y, z]] });

export function part(name: string, mark: string, more: Partial<Part> = {}): Part {
  return {
    name, mark, kind: name.replace(/_\d+$/, ""), temporary: false, tone: "#b98a54", shape: 0, home: HERE, grain: [1, 0, 0],
    apart: [0, 0, 0], size: "600 × 40 × 20 mm", stock: "ash", mass: "0.3 kg", joints: [], stage: 0, mirror: "", pencil: [], ...more,
  } as Part;
}

export function finding(number: number, severity: Finding["severity"], more: Partial<Finding> = {}): Finding {
  return {
    number, kind: "gap", severity, sign: { stop: "STOP", warn: "WARN", note: "note" }[severity], title: `finding ${number}`, message: "", remedy: "",
    amount: "", spot: "", parts: [], stage: null, shown: [], at: null, box: [[0, 0, 0], [100, 100, 100]], apart: [], turned: null, pencil: null, ...more,
  };
}

export function made(more: Partial<Walk> = {}): Walk {
  return {
    format: 1, title: "Towel rack", says: "", unit: "mm", file: "rack.toml", version: "0", about: [],
    verdict: { said: "", stop: 1, warn: 1, note: 1 }, cautions: [], quality: [], box: [[0, 0, 0], [700, 100, 900]], facing: [0, 1, 0],
    shapes: [shape(600, 40, 20), shape(60, 60, 900)],
    parts: [
      part("rail_07", "A", { home: at(50, 0, 300), apart: [0, 0, 40] }), part("rail_17", "A", { home: at(50, 0, 600), apart: [0, 0, 80] }),
      part("post_left", "Ba", { shape: 1, mirror: "Bb", size: "900 × 60 × 60 mm" }), part("post_right", "Bb", { shape: 1, mirror: "Ba", home: at(640, 0, 0), apart: [100, 0, 0] }),
      part("spacer", "", { temporary: true, home: null }),
    ],
    stages: [], steps: [], findings: [finding(1, "stop"), finding(2, "warn"), finding(3, "note")], planned: true, live: null, ...more,
  };
}
