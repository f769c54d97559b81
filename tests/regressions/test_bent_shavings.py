"""A shaving that runs round a corner is as deep as it is thick.

Found by pushing joined parts askew: the wood in common then bends round the tenon, and its
depth was given as the width of the hull around it, 38 mm for a push of 0.5 mm.
"""

from __future__ import annotations

import numpy as np
import pytest

from assembly.contacts import contacts
from assembly.interference import overlaps
from assembly.placing import Assembly, place
from assembly.shrink import DELTA
from assembly.thickness import thickness
from model.frames import identity, move
from model.joints import KINDS
from model.solids import arc_points, box, prism
from tests.joined import usual
from tests.strategies import side_by_side

ASKEW = [(0.3, 0.4, 0.5), (-0.21, 0.35, 0.28), (0.5, -0.6, -0.2), (-0.07, -0.09, 0.3), (0.8, 0.1, -0.6)]


@pytest.mark.parametrize("fit", [0.0, 0.1])
@pytest.mark.parametrize("kind", KINDS)
def test_a_part_pushed_askew_is_as_deep_as_its_deepest_face(kind: str, fit: float) -> None:
    """By hand: a face that stood `gap` off is in the other wood by how far the push carries it, less the gap."""
    design = usual(kind, fit=fit)
    sound = place(design)
    for push in ASKEW:
        astray = Assembly(design, {**sound.frames, "a": move(*push) @ sound.frames["a"]})
        for other in sound.names[1:]:
            faces = [p for p in contacts(sound) if {p.a, p.b} == {"a", other}]
            deep = max((float(p.normal @ push) * (1 if p.a == "a" else -1) - p.gap for p in faces), default=0.0)
            found = [o.depth for o in overlaps(astray) if {o.a, o.b} == {"a", other}]
            assert max(found, default=0.0) == pytest.approx(deep if deep > DELTA else 0.0, abs=DELTA), (push, other)


@pytest.mark.parametrize("deep", [0.1, 0.5, 3.0])
def test_two_bands_on_nearly_one_arc_are_as_deep_as_they_overlap(deep: float) -> None:
    """The crescent of common wood is 400 mm long and bent by 20 mm, but only `deep` thick."""
    def band(inner: float, outer: float) -> np.ndarray:
        return np.vstack([arc_points(outer, 0.0, 0.4), arc_points(inner, 0.4, 0.0)])

    (found,) = overlaps(side_by_side(prism(band(1000.0, 1090.0), -19, 19), prism(band(910.0, 1000.0 + deep), -19, 19),
                                     identity()))
    assert found.depth == pytest.approx(deep, abs=0.5 * DELTA)


def test_the_thickness_of_a_bent_plate_and_of_a_tray() -> None:
    bent = box((0, 0, 0), (100, 60, 2)).joined(box((0, 0, 0), (3, 60, 80)))
    assert thickness(bent.manifold).depth == pytest.approx(3.0, abs=2e-3)
    tray = box((0, 0, 0), (100, 60, 30)).cut(box((2, 2.5, 1.5), (98, 57.5, 31)))
    assert thickness(tray.manifold).depth == pytest.approx(2.5, abs=2e-3)
    assert thickness(box((0, 0, 0), (100, 60, 30)).manifold).depth == pytest.approx(30.0, rel=1e-12)


def test_the_place_told_lies_in_the_wood() -> None:
    bent = box((0, 0, 0), (100, 60, 2)).joined(box((0, 0, 0), (3, 60, 80)))
    assert thickness(bent.manifold).where == pytest.approx((1.5, 30.0, 40.0), abs=1.5)
