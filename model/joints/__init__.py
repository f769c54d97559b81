"""The kinds of joint: one file a kind, one line here."""

from __future__ import annotations

from model.joint import JointKind
from model.joints.bridle import BRIDLE
from model.joints.glued_face import GLUED_FACE
from model.joints.housing import HOUSING
from model.joints.laps import CROSS_LAP, HALF_LAP
from model.joints.loose_tenon import LOOSE_TENON, TENON_HALF
from model.joints.mortise_and_tenon import BLIND, THROUGH

KINDS: dict[str, JointKind] = {
    k.name: k for k in (BLIND, THROUGH, LOOSE_TENON, HALF_LAP, CROSS_LAP, HOUSING, BRIDLE, GLUED_FACE)
}
"""What a design can ask for."""

EVERY_KIND: dict[str, JointKind] = KINDS | {TENON_HALF.name: TENON_HALF}
"""With the kinds that come with another: the halves of a loose tenon."""
