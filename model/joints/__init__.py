"""The kinds of joint: one file a kind, one line here."""

from __future__ import annotations

from model.joint import JointKind
from model.joints.mortise_and_tenon import BLIND, THROUGH

KINDS: dict[str, JointKind] = {k.name: k for k in (BLIND, THROUGH)}
