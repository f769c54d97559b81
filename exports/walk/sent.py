"""The data of a walk as it goes to the page: nothing told twice. `exports/page/source/received.ts` puts it back.

A long plan names the same parts on bench after bench. Where a part stands follows, nearly always, from where it stands
in the finished work and how the stage lies; so only its number is sent. Rows of one kind are sent as a table, without
the names of their columns, and values that come again and again once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from exports.walk.book import Json

TURNED, MOVED = 1e-8, 2e-3
"""Where a part stands is told when it differs by more than this from what follows: entries of its turn, and mm."""
SHARED = ("at", "says", "kind", "stock", "size", "mass", "tone")
"""Columns of which a value that comes again is sent once."""


def sent(walk: Mapping[str, Any]) -> Json:
    """Return the data of a walk (what `walk_data` gives) in the shape `Sent` of `received.ts`.

    What is sent already, or is no whole walk, comes back as it is.
    """
    if "sent" in walk or not walk.keys() >= {"parts", "stages", "steps", "findings"}:
        return dict(walk)
    homes = _homes(walk["parts"])
    shapes = [part["shape"] for part in walk["parts"]]
    frames = [stage["frame"] for stage in walk["stages"]]
    joints = [{"part": k, **joint} for k, part in enumerate(walk["parts"]) for joint in part["joints"]]
    things = [{"stage": k, **thing} for k, stage in enumerate(walk["stages"]) for thing in stage["things"]]

    def placed(pieces: Sequence[Json], stage: int | None) -> Json:
        return _placed(pieces, None if stage is None else frames[stage], homes, shapes)

    return {
        **walk, "sent": True, "steps": table(walk["steps"]), "joints": table(joints), "things": table(things),
        "parts": table([{k: v for k, v in part.items() if k != "joints"} for part in walk["parts"]]),
        "stages": [{**{k: v for k, v in stage.items() if k != "things"}, "pieces": placed(stage["pieces"], number)}
                   for number, stage in enumerate(walk["stages"])],
        "findings": [{**found, "shown": placed(found["shown"], found["stage"])} for found in walk["findings"]],
    }


def table(rows: Sequence[Json]) -> Json:
    """Return rows that have the same keys as a table: `columns`, `rows`, and for shared columns their `values`."""
    if not rows:
        return {"columns": [], "rows": [], "values": {}}
    columns = list(rows[0])
    values: dict[str, list[Any]] = {}
    told = [list(row.values()) for row in rows]
    for place, name in enumerate(columns):
        if name in SHARED:
            values[name] = _numbered(told, place)
    return {"columns": columns, "rows": told, "values": values}


def _numbered(rows: Sequence[list[Any]], place: int) -> list[Any]:
    """Put a number in the place of each value of a column; return the values."""
    known: dict[Any, int] = {}
    values: list[Any] = []
    for row in rows:
        value = row[place]
        key = tuple(value) if isinstance(value, list) else value
        if key not in known:
            known[key] = len(values)
            values.append(value)
        row[place] = known[key]
    return values


def _homes(parts: Sequence[Json]) -> NDArray[np.float64]:
    """Return where every part stands in the finished work (N, 3, 4); not a number where it does not."""
    nowhere = [np.nan] * 12
    return np.array([part["home"] or nowhere for part in parts], dtype=np.float64).reshape(-1, 3, 4)


def _placed(pieces: Sequence[Json], frame: Sequence[float] | None, homes: NDArray[np.float64],
            shapes: Sequence[int]) -> Json:
    """Return pieces by number, with the frames and shapes, by their places in the list, that do not follow."""
    names = [piece["part"] for piece in pieces]
    follows = _carried(frame, homes[names])
    off = np.abs(np.array([piece["at"] for piece in pieces], dtype=np.float64).reshape(-1, 3, 4) - follows)
    same = (off[:, :, :3] <= TURNED).all(axis=(1, 2)) & (off[:, :, 3] <= MOVED).all(axis=1)
    at: Mapping[str, Any] = {str(k): pieces[k]["at"] for k in np.flatnonzero(~same).tolist()}
    other = {str(k): piece["shape"] for k, piece in enumerate(pieces) if piece["shape"] != shapes[piece["part"]]}
    return {"parts": names, "at": at, "shapes": other}


def _carried(frame: Sequence[float] | None, at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return frames (N, 3, 4) carried by another, given as its three rows; as they are when there is none."""
    if frame is None:
        return at
    by = np.array(frame, dtype=np.float64).reshape(3, 4)
    carried = by[:, :3] @ at
    carried[:, :, 3] += by[:, 3]
    return np.asarray(carried)
