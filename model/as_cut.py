"""As cut: what the machines really made, where it differs from the drawing.

Lengths mm, angles radians, measured from square as in the drawing. None means as drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Turned = Literal["end for end", "end over end", "rolled over", "quarter turn", "three quarter turn"]
"""The ways a piece goes in turned, by its own axes: half a turn about its thickness (its ends change places, its
face stays), about its width (its ends and its face and back change places), about its grain (its ends stay), a
quarter or three quarters of a turn about its grain, right-handed."""


@dataclass(frozen=True)
class CutAsCut:
    """What was measured of the cut that one joint makes on one part: its tenon, mortise, lap or housing.

    `along`, `across`: how far it is off its place, along the x and y of the place it is laid
    out on; `width`, `thickness`, `depth`: its sizes as cut (a mortise's with its clearance; a
    tenon's depth is how far it reaches); `left_out`: it was never cut.
    """

    joint: str
    along: float = 0.0
    across: float = 0.0
    width: float | None = None
    thickness: float | None = None
    depth: float | None = None
    left_out: bool = False


@dataclass(frozen=True)
class PartAsCut:
    """What was measured on one part.

    `length` on the centreline between its ends without tenons; what is missing is missing at
    the end, at the back and at the far edge: a piece is worked from its start, its face and
    its edge (common practice, no source). `start_angle`, `end_angle`: the ends out of square.
    `turned`: it goes in the wrong way round; `mirrored`: it was made as its own mirror image,
    face for back; `exchanged_with`: the other part's wood stands in its place.
    """

    part: str
    length: float | None = None
    width: float | None = None
    thickness: float | None = None
    start_angle: float | None = None
    end_angle: float | None = None
    turned: Turned | None = None
    mirrored: bool = False
    exchanged_with: str | None = None
    cuts: tuple[CutAsCut, ...] = ()
