"""Pieces: a whole out of a mesh file with its parts in place, for work that has no design file.

GLB, OBJ, 3MF, or a folder of STL files. Every named node, object or file is one part. Joints, species and grain are
in none of them; what follows from what touches is worked out by the assembly. Everything read is bounded, and nothing
is read outside the file or the folder. All problems of all parts are raised at once.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Sequence
from pathlib import Path

import numpy as np

from model.design import Design
from model.errors import DesignError, Problem
from model.frames import Frame, snapped
from model.part import Blank, Part
from model.progress import Progress, quiet, share
from model.reader.pieces import folder, gltf, threemf, wavefront
from model.reader.pieces.asked import in_mm, named_unit
from model.reader.pieces.body import Body, Refusal, apart, low_high, stretched
from model.reader.pieces.limits import PIECES_MOST, TOTAL_MOST
from model.reader.pieces.soundness import DENSITY, sound
from model.reader.problems import MOST, printable

__all__ = ["DENSITY", "holds_pieces", "pieces"]

ENDINGS = (".glb", ".obj", ".3mf")
SINGLE = (".stl", ".ply")
"""Kinds of file that hold one part only."""
ACCEPTED = "a GLB, OBJ or 3MF file with parts in place, or a folder of STL files"
AXES = {".glb": "GLB is in metres with y up; it is turned so that z is up", ".3mf": "z is up as in the file"}


def holds_pieces(path: Path) -> bool:
    """Return whether a path is a folder, or a mesh file by its ending, rather than a design file."""
    return path.suffix.lower() in (*ENDINGS, *SINGLE) or path.is_dir()


def pieces(path: Path, unit: str | None = None, progress: Progress = quiet) -> Design:
    """Return the parts of a mesh file or folder where they stand, without joints.

    `unit`: "mm", "cm", "m", "in" or "ft", for formats that have none. Raises DesignError with all problems at once.
    """
    wrong: list[Refusal] = []
    try:
        bodies, own = _bodies(path, share(progress, 0.0, 0.4), wrong)
        if not bodies and not wrong:
            raise Refusal("", "holds no parts", ACCEPTED)
        kind = "a folder of STL files" if path.is_dir() else path.suffix[1:].upper()
        scale = in_mm(unit, own, kind, low_high(bodies))
    except Refusal as refused:
        raise _refused(path, [*wrong, refused]) from None
    names = apart(body.name for body in bodies)
    made = _made(bodies, names, scale, share(progress, 0.4, 1.0), wrong)
    if not wrong and len(bodies) == 1:
        wrong.append(Refusal("", f"holds a single part, {names[0]}: there is nothing to put together",
                             "two parts at least, each a node, object or file of its own"))
    if wrong:
        raise _refused(path, wrong)
    return _design(path, made, named_unit(unit or own))


def _bodies(path: Path, progress: Progress, wrong: list[Refusal]) -> tuple[list[Body], str | None]:
    ending = path.suffix.lower()
    if path.is_dir():
        return folder.bodies(path, progress, wrong)
    if ending in SINGLE:
        raise Refusal("", f"is one {ending[1:].upper()} file, which holds a single part", ACCEPTED)
    bodies, unit = {".glb": gltf, ".obj": wavefront, ".3mf": threemf}[ending].bodies(path, progress)
    if len(bodies) > PIECES_MOST:
        raise Refusal("", f"holds {len(bodies):,} parts", f"at most {PIECES_MOST:,}")
    return bodies, unit


def _made(bodies: Sequence[Body], names: Sequence[str], scale: float, progress: Progress, wrong: list[Refusal]
          ) -> list[tuple[Part, Frame]]:
    """Return the parts with their frames in the world; what is wrong with the rest is noted. Shapes are made once."""
    known: dict[Hashable, tuple[Blank, Frame] | Refusal] = {}
    made = []
    if sum(len(body.triangles) for body in bodies) > TOTAL_MOST:
        wrong.append(Refusal("", f"has more than {TOTAL_MOST:,} triangles in all", f"at most {TOTAL_MOST:,}"))
        return []
    for number, (body, name) in enumerate(zip(bodies, names, strict=True)):
        progress(f"looking at {name}", number / len(bodies))
        if not np.all(np.isfinite(body.placing)) or not np.all(np.isfinite(body.corners)):
            wrong.append(Refusal(name, "has a corner, or a place, that is no number", "finite numbers"))
            continue
        corners, triangles, frame, stretch = stretched(body)
        key = (body.shape, stretch)
        if key not in known:
            try:
                known[key] = sound(name, corners * scale, triangles)
            except Refusal as refused:
                known[key] = refused
        found = known[key]
        if isinstance(found, Refusal):
            wrong.append(Refusal(name, str(found), found.accepted))
            continue
        blank, own = found
        frame[:3, 3] *= scale
        made.append((Part(name, blank, group=_set_of(name)), snapped(frame @ own)))
    return made


def _set_of(name: str) -> str:
    """Return what a part is probably called among its like: its name without the number at its end."""
    return re.sub(r"[\s_.-]*\d+$", "", name) or name


def _design(path: Path, made: Sequence[tuple[Part, Frame]], unit: str) -> Design:
    title = printable(path.name if path.is_dir() else path.stem)[:60].strip() or "pieces"
    axes = AXES.get(path.suffix.lower(), "z is taken to be up, as in the file") if not path.is_dir() else \
        "z is taken to be up, as in the files"
    says = (f"Read from {printable(path.name or str(path))[:200]}, parts in place; {axes}. The file names no wood: "
            f"masses are reckoned with {DENSITY:.0f} kg/m³.")
    low = min(frame[2, 3] for _, frame in made)
    base = next(part.name for part, frame in made if frame[2, 3] == low)
    frames = {part.name: frame for part, frame in made}
    return Design(title, tuple(part for part, _ in made), (), base, frames[base], unit=unit, source=path, says=says,
                  standing=frames)


def _refused(path: Path, wrong: Sequence[Refusal]) -> DesignError:
    problems = [Problem(str(one), key=printable(one.piece), accepted=one.accepted) for one in wrong[:MOST]]
    if len(wrong) > MOST:
        problems.append(Problem(f"and {len(wrong) - MOST} more problems of this kind"))
    return DesignError(printable(str(path)), problems)
