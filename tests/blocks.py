"""Small structures out of plain solids, already where they stand: for motion and order, worked out by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from assembly.placing import Assembly
from model.design import Design, Shop, StageSpec
from model.frames import Frame, frame_of, identity, turn
from model.joint import Joint
from model.part import Blank, Part
from model.solids import Solid, box, hull, prism
from model.stock import Stock, species

WOOD = Stock("wood", species()["Western redcedar"], 20.0, 20.0)


def piece(name: str, solid: Solid, leaves_after: str | None = None) -> Part:
    """Return a part of a solid given in the world; its own frame is the world's."""
    size = solid.bounds[1] - solid.bounds[0]
    return Part(name, Blank("block", solid, float(size[0]), float(size[1]), float(size[2]), WOOD, {}),
                leaves_after=leaves_after, group=name)


def tied(name: str, a: str, b: str, at: Sequence[float], way: Sequence[float], travel: float = 0.0, *,
         glued: bool = True) -> Joint:
    """Return a joint by its seat in the world: a slides home into b along `way`."""
    aside = (1.0, 0.0, 0.0) if abs(way[0]) < 0.9 else (0.0, 1.0, 0.0)
    seat = frame_of(at, way, aside)
    return Joint(name, "glued face", a, b, seat, seat, 0.0, glued, travel=travel)


def standing(solids: Mapping[str, Solid], joints: Sequence[Joint] = (), stages: Sequence[StageSpec] = (),
             leaves_after: Mapping[str, str] | None = None) -> Assembly:
    """Return an assembly of solids where they stand, the first one being the base."""
    leaves = leaves_after or {}
    parts = tuple(piece(n, s, leaves.get(n)) for n, s in solids.items())
    design = Design("blocks", parts, tuple(joints), parts[0].name, identity(), tuple(stages), Shop())
    return Assembly(design, {p.name: identity() for p in parts})


def mirrored(assembly: Assembly) -> Assembly:
    """Return an assembly of `standing` as the mirror x -> -x shows it."""
    return replace(assembly, design=assembly.design.in_the_mirror())


def renamed(assembly: Assembly, order: Sequence[int]) -> Assembly:
    """Return the assembly with its parts in another order and under other names."""
    old = [assembly.design.parts[i] for i in order]
    new = {p.name: f"z{len(old) - i:02d}" for i, p in enumerate(old)}
    parts = tuple(replace(p, name=new[p.name]) for p in old)
    joints = tuple(replace(j, a=new[j.a], b=new[j.b]) for j in assembly.design.joints)
    design = replace(assembly.design, parts=parts, joints=joints, base=new[assembly.design.base])
    frames: dict[str, Frame] = {new[n]: f for n, f in assembly.frames.items()}
    return Assembly(design, frames)


# -- structures -----------------------------------------------------------------------------------


def drawer() -> Assembly:
    """A drawer in a case that is open at +x only, half a millimetre clear all round but at its back."""
    case = box((0, 0, 0), (300, 200, 100)).cut(box((10, 10, 10), (400, 190, 90)))
    tray = box((10, 10.5, 10.5), (300, 189.5, 89.5)).cut(box((18, 18, 18), (292, 182, 100)))
    return standing({"case": case, "drawer": tray})


def tapered_key() -> Assembly:
    """A board on a sliding key that is undercut and grows wider towards +x: it leaves that way only."""
    def half(x: float, z: float) -> float:
        return 10.0 + 0.05 * x - 0.4 * z

    key = [(x, s * half(x, z), z) for x in (0.0, 100.0) for z in (0.0, -10.0) for s in (-1.0, 1.0)]
    top = box((0, -30, 0), (100, 30, 20))
    root = box((0, -9, -1), (100, 9, 2))
    return standing({"bed": box((0, -30, -30), (100, 30, 0)).cut(hull(key)), "board": top.joined(hull(key), root)})


def dumbbell() -> Assembly:
    """A bar with a head at each end through two plates: nothing can ever leave, though nothing is glued."""
    bar = box((-40, -5, -5), (40, 5, 5)).joined(box((-50, -20, -20), (-38, 20, 20)), box((38, -20, -20), (50, 20, 20)))
    plates = {f"plate_{i}": box((x, -30, -30), (x + 38, 30, 30)).cut(box((x - 1, -5.2, -5.2), (x + 39, 5.2, 5.2)))
              for i, x in enumerate((-38.0, 0.0))}
    return standing({"bar": bar, **plates})


def links() -> Assembly:
    """Two square links of a chain, each one piece, that do not touch."""
    one = box((-50, -50, -5), (50, 50, 5)).cut(box((-40, -40, -6), (40, 40, 6)))
    other = box((0, -5, -50), (100, 5, 50)).cut(box((10, -6, -40), (90, 6, 40)))
    return standing({"lying": one, "upright": other})


def split_links() -> Assembly:
    """The same chain with the upright link sawn through square to x, so that its longer part is a hook."""
    whole, lying = links().solid("upright"), links().solid("lying")
    return standing({"lying": lying, "hook": whole.split_at((70, 0, 0), (-1, 0, 0)),
                     "rest": whole.split_at((70, 0, 0), (1, 0, 0))})


def peg_inside() -> Assembly:
    """A short shelf tenoned into one side of a closed frame in one piece: it slides out of the side, then up."""
    frame = box((0, 0, 0), (200, 200, 40)).cut(box((20, 20, -1), (180, 180, 41)))
    shelf = box((10, 90, 10), (60, 110, 30))
    return standing({"frame": frame.cut(shelf), "shelf": shelf})


def polygon(sides: int, radius: float = 300.0, *, tenons: bool = True, plain: int | None = None,
            lean: float = 0.0) -> Assembly:
    """A closed ring of mitred pieces with a tongue at one end of each, square to the mitre, into the next.

    `plain`: the number of one joint that is left without its tongue. `lean`: how far every tongue leans up out of the
    plane of the ring, rad.
    """
    half = np.pi / sides
    outline = [(r * np.cos(a), r * np.sin(a)) for r, a in ((radius - 60, -half), (radius, -half), (radius, half),
                                                           (radius - 60, half))]
    blank = prism(outline, 0.0, 30.0)
    middle = (radius - 30.0) * np.array([np.cos(half), np.sin(half), 0.0])
    along = np.array([-np.sin(half), np.cos(half), 0.0])
    seat = frame_of(middle + np.array([0.0, 0.0, 15.0]), along, (0, 0, 1.0)) @ turn((0, 1, 0), lean)
    solids, joints = {}, []
    for i in range(sides):
        about = turn((0, 0, 1), 2 * half * i)
        has = tenons and i != plain
        takes = tenons and (i - 1) % sides != plain
        solid = blank
        if has:
            solid = solid.joined(box((-5, -10, -2), (5, 10, 25)).moved(seat))
        if takes:
            solid = solid.cut(box((-5, -10, -2), (5, 10, 25)).moved(turn((0, 0, 1), -2 * half) @ seat))
        solids[f"side_{i}"] = solid.moved(about)
        way = about[:3, :3] @ seat[:3, 2]
        joints.append(tied(f"joint_{i}", f"side_{i}", f"side_{(i + 1) % sides}", (about[:3, :3] @ seat[:3, 3]).tolist(),
                           way.tolist(), 25.0 if has else 0.0))
    return standing(solids, joints, (StageSpec("ring", tuple(j.name for j in joints)),))


def sliding_three(*, hooked: bool = False) -> Assembly:
    """Two wedges on a bed, each on a T-shaped rail, one along x, one along y, and a third between them along x = y.

    Any two can only slide along their rail, so one alone or two together never move; all three at once do, with
    equal speeds, and nothing opens as they start. `hooked`: a stop on the bed ends the way of the first after 5 mm.
    """
    def rail(at: Sequence[float], along: Sequence[float], into: Sequence[float], half: float) -> Solid:
        low = frame_of(at, into, along)
        return box((-half, -3, -2), (half, 3, 7)).joined(box((-half, -8, 6), (half, 8, 12))).moved(low)

    first = rail((30, -50, 0), (1, 0, 0), (0, 0, -1.0), 50.0)
    second = rail((-50, 30, 0), (0, 1, 0), (0, 0, -1.0), 50.0)
    third = rail((0, 0, 15), (1, 1, 0), (-1.0, 1, 0), 60.0)
    slots = [rail((0, -50, 0), (1, 0, 0), (0, 0, -1.0), 400.0), rail((-50, 0, 0), (0, 1, 0), (0, 0, -1.0), 400.0),
             rail((0, 0, 15), (1, 1, 0), (-1.0, 1, 0), 400.0)]
    bed = box((-120, -120, -40), (120, 120, 0)).cut(*slots[:2])
    stops = [box((95, -80, -1), (110, -20, 20)), box((-110, -100, -1), (-95, -20, 20))]
    one = prism([(-90, -90), (90, -90), (90, 90)], 0.0, 30.0).joined(first, third)
    two = prism([(-90, -90), (90, 90), (-90, 90)], 0.0, 30.0).cut(slots[2]).joined(second)
    return standing({"bed": bed.joined(*stops) if hooked else bed, "one": one, "two": two},
                    (tied("along x", "one", "bed", (30, -50, 0), (-1, 0, 0), 180.0),
                     tied("along y", "two", "bed", (-50, 30, 0), (0, 1, 0), 180.0),
                     tied("between", "one", "two", (0, 0, 15), (-1, -1, 0), 120.0)))


def crossing_braces() -> Assembly:
    """Two posts, two braces halved over each other where they cross, each with a level tenon into both posts."""
    lean = np.arctan2(140.0, 200.0)
    bays = box((-200, -20, -400), (200, 20, 400))
    bars = [box((-300, -10, -15), (300, 10, 15)).moved(turn((0, 1, 0), way * lean)).kept(bays) for way in (1.0, -1.0)]
    ends = ((-220.0, 140.0), (199.0, -140.0))
    tenons = [[box((x, -6, way * side - 12), (x + 21, 6, way * side + 12)) for x, side in ends] for way in (1.0, -1.0)]
    front = box((-200, 0, -200), (200, 20, 200))
    one = bars[0].cut(bars[1].kept(front)).joined(*tenons[0])
    two = bars[1].cut(bars[0].cut(front)).joined(*tenons[1])
    posts = {f"post_{i}": box((x, -20, -300), (x + 40, 20, 300)).cut(*tenons[0], *tenons[1])
             for i, x in enumerate((-240.0, 200.0))}
    return standing({**posts, "one": one, "two": two})
