"""The wrong wood, or the right wood the wrong way round, in a part's place.

A cut that comes after a glue-up is made where the part then is: it is not turned with the wood.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from model.as_cut import Turned
from model.frames import Frame, X, Y, Z, about, directions, snapped, turn
from model.part import Feature, Part

HALF: dict[Turned, Frame] = {
    "end for end": turn(Z, math.pi), "end over end": turn(Y, math.pi), "rolled over": turn(X, math.pi)}
QUARTER: dict[Turned, Frame] = {"quarter turn": turn(X, math.pi / 2), "three quarter turn": turn(X, -math.pi / 2)}
TURNS = HALF | QUARTER
"""Each way a piece can go in turned, about its own axes."""


def in_place_of(part: Part, wood: Part) -> Part:
    """Return a part's place with another's wood in it, as that lies in its own frame."""
    late = tuple(f for f in part.features if f.after is not None)
    early = tuple(f for f in wood.features if f.after is None)
    return replace(part, blank=replace(wood.blank, places=part.blank.places), features=(*early, *late))


def turned_wood(part: Part, way: Turned) -> Part:
    """Return a part turned about the middle of its blank's box."""
    return _about_its_middle(part, TURNS[way])


def mirrored_wood(part: Part) -> Part:
    """Return a part as its own mirror image, face for back."""
    return _about_its_middle(part, np.diag([1.0, 1.0, -1.0, 1.0]))


def _about_its_middle(part: Part, way: Frame) -> Part:
    return carried(part, snapped(about(part.blank.solid.bounds.mean(axis=0), way)))


def carried(part: Part, frame: Frame) -> Part:
    """Return a part with its wood carried by a frame, proper or mirroring; its places and later cuts stay."""
    blank = replace(part.blank, solid=part.blank.solid.moved(frame), grain=directions(frame, part.blank.grain))
    return replace(part, blank=blank, features=tuple(_with(f, frame) for f in part.features))


def _with(feature: Feature, frame: Frame) -> Feature:
    if feature.after is not None:
        return feature
    if np.linalg.det(frame[:3, :3]) > 0:
        return replace(feature, solid=feature.solid.moved(frame), frame=frame @ feature.frame)
    own = frame @ feature.frame @ np.diag([1.0, 1.0, -1.0, 1.0])
    return replace(feature, solid=feature.solid.moved(frame), frame=own)
