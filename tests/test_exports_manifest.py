"""The manifest: what a joint offers the glue, against values worked out by hand."""

from __future__ import annotations

import pytest

from assembly.rehearsal import rehearse
from exports.manifest import manifest
from tests.zoo import trestle


def test_each_joint_says_its_faces_and_its_end_grain_as_worked_out_by_hand() -> None:
    rehearsal = rehearse(trestle())
    joints = {j["name"]: j for j in manifest(rehearsal, [])["joints"]}
    assert set(joints) == {j.name for j in rehearsal.design.joints}
    joint = joints["long_rail_01_start"]
    # A 2x4 rail (38.1 x 88.9 mm) tenoned into an 88.9 mm post: a third thick, a quarter of that left as shoulder.
    thick, fit = 88.9 / 3, 0.1
    wide, deep = 88.9 - 2 * thick / 4, joint["engaged_mm"]
    shoulder = 38.1 * 88.9 - (wide + 2 * fit) * (thick + 2 * fit)
    cheeks, edges = 2 * wide * deep, 2 * thick * deep
    assert joint["faces_mm2"] == pytest.approx(shoulder + cheeks + edges, rel=1e-6)
    # The shoulder is the rail's end grain; the tenon's edges press on the end grain of the mortise.
    assert joint["end_grain_share"] == pytest.approx((shoulder + edges) / (shoulder + cheeks + edges), abs=1e-4)
    assert joint["glued"] and joint["stage"] == 1 and joint["kind"] == "blind tenon"
