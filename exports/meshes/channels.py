"""Channels: clips as glTF 2.0 has them, for the nodes of one file.

A node that is animated has translation, rotation and scale instead of a matrix, as the standard asks. Ways are
linear; a part out of sight has scale 0, switched by steps, which the standard names as the way to hide a node. A part
that is cut on the way is one node for each of its solids, of which one at a time is seen. What a clip leaves as the
file has it gets no channel. Source: Khronos, glTF 2.0 specification (ISO/IEC 12113:2022), sections 3.5.3 and 3.11.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from exports.meshes.clips import Clip, Track
from exports.meshes.figure import Figure, Piece
from model.frames import Frame

METRES = 1e-3
"""Metres in a millimetre."""
FLOAT = 5126
"""What the standard calls 32-bit floats."""
KINDS = {1: "SCALAR", 3: "VEC3", 4: "VEC4"}
UNSEEN, SEEN = (0.0, 0.0, 0.0), (1.0, 1.0, 1.0)
Array = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Node:
    """A node that clips move: what it shows, of which part, and whether the file shows it when nothing plays."""

    piece: Piece
    part: str
    shown: bool


def nodes(figure: Figure, clips: Sequence[Clip]) -> list[Node]:
    """Return the nodes of a figure: its pieces, and after them what only clips show of them (other cuts, helpers)."""
    found = [Node(p, p.name, True) for p in figure.pieces]
    known = {(n.part, n.piece.solid.key): n for n in found}
    own = {n.part: n for n in found}
    taken = {p.name for p in figure.pieces} | {g.name for g in figure.groups}
    for track in (t for clip in clips for t in clip.tracks.values()):
        for solid in (s for _, s in track.seen if s is not None):
            if (track.part, solid.key) in known:
                continue
            name, frame = track.part, track.frames[-1]
            if track.part in own:
                main = own[track.part].piece
                name, frame = f"{name} ({'uncut' if solid.volume > main.solid.volume else 'cut'})", main.frame
            while name in taken:
                name += "'"
            taken.add(name)
            node = Node(Piece(name, solid, frame, track.species, track.mark), track.part, False)
            found.append(node)
            known[track.part, solid.key] = node
    return found


def posed(frame: Frame) -> dict[str, Any]:
    """Return a frame as a node's translation (m) and rotation (x, y, z, w)."""
    return {"translation": (frame[:3, 3] * METRES).tolist(), "rotation": _quaternions(frame[None])[0].tolist()}


@dataclass
class _Store:
    """The buffer and the accessors of a file being written; numbers alike are stored once."""

    buffers: dict[Any, bytes]
    tree: dict[str, Any]
    known: dict[tuple[str, bytes], int] = field(default_factory=dict)

    def accessor(self, values: Array, bounded: bool = False) -> int:
        """Return the accessor of values (N,) or (N, 3 or 4); the times of keys must say their least and most."""
        kind = KINDS[1 if values.ndim == 1 else values.shape[1]]
        data = np.ascontiguousarray(values, dtype="<f4").tobytes()
        if (kind, data) not in self.known:
            self.buffers["clips", kind, data] = data
            one: dict[str, Any] = {"bufferView": len(self.buffers) - 1, "componentType": FLOAT, "type": kind,
                                   "count": len(values)}
            if bounded:
                one |= {"min": [float(values.min())], "max": [float(values.max())]}
            self.tree["accessors"]["clips", kind, data] = one
            self.known[kind, data] = len(self.tree["accessors"]) - 1
        return self.known[kind, data]


def animate(figure_nodes: Sequence[Node], clips: Sequence[Clip], buffers: dict[Any, bytes],
            tree: dict[str, Any]) -> None:
    """Put clips into a glTF tree whose nodes bear the names of `figure_nodes`; `buffers` is what it refers to."""
    store = _Store(buffers, tree)
    number = {node["name"]: k for k, node in enumerate(tree["nodes"])}
    for node in figure_nodes:
        entry = tree["nodes"][number[node.piece.name]]
        entry.pop("matrix", None)
        entry |= posed(node.piece.frame) | ({} if node.shown else {"scale": list(UNSEEN)})
    made = [_animation(clip, figure_nodes, number, store) for clip in clips]
    if any(one["channels"] for one in made):
        tree["animations"] = [one for one in made if one["channels"]]


def _animation(clip: Clip, figure_nodes: Sequence[Node], number: Mapping[str, int], store: _Store) -> dict[str, Any]:
    channels: list[dict[str, Any]] = []
    samplers: list[dict[str, Any]] = []
    known: dict[tuple[int, int, str], int] = {}

    def channel(node: Node, path: str, times: Array, values: Array, way: str) -> None:
        key = store.accessor(times, True), store.accessor(values), way
        if key not in known:
            known[key] = len(samplers)
            samplers.append({"input": key[0], "output": key[1], "interpolation": way})
        channels.append({"sampler": known[key], "target": {"node": number[node.piece.name], "path": path}})

    for node in figure_nodes:
        track = clip.tracks.get(node.part)
        sight = _sight(node, track)
        if len(sight) > 1 or sight[0][1] != node.shown:
            values = np.array([SEEN if seen else UNSEEN for _, seen in sight], dtype=np.float32)
            channel(node, "scale", np.array([t for t, _ in sight], dtype=np.float32), values, "STEP")
        if track is not None and any(seen for _, seen in sight):
            for path, times, values in _motion(node, track):
                channel(node, path, times, values, "LINEAR")
    return {"name": clip.name, "channels": channels, "samplers": samplers}


def _sight(node: Node, track: Track | None) -> list[tuple[float, bool]]:
    """Return from when on a node is seen and not seen, from 0 s on."""
    found: list[tuple[float, bool]] = [(0.0, False)]
    for time, solid in track.seen if track is not None else ():
        seen = solid is not None and solid.key == node.piece.solid.key
        if time <= found[-1][0]:
            found.pop()
        if not found or found[-1][1] != seen:
            found.append((time, seen))
    return found


def _motion(node: Node, track: Track) -> list[tuple[str, Array, Array]]:
    """Return the channels of a node's place and turn, without those that leave it as it stands in the file."""
    frames, times = np.array(track.frames), np.array(track.times, dtype=np.float32)
    still = posed(node.piece.frame)
    moved = (frames[:, :3, 3] * METRES).astype(np.float32)
    turned = _quaternions(frames).astype(np.float32)
    found = []
    for path, values in (("translation", moved), ("rotation", turned)):
        own = np.asarray(still[path], dtype=np.float32)
        if np.abs(values - own).max() < 1e-7 or (path == "rotation" and np.abs(values + own).max() < 1e-7):
            continue
        keep = _needed(values)
        found.append((path, times[keep], values[keep]))
    return found


def _needed(values: Array) -> NDArray[np.bool_]:
    """Return which keys (N,) are needed: not those between two alike, nor any after the first where all are alike."""
    same: NDArray[np.bool_] = np.all(np.abs(np.diff(values, axis=0)) < 1e-7, axis=1)
    keep = np.ones(len(values), dtype=bool)
    keep[1:-1] = ~(same[:-1] & same[1:])
    if same.all():
        keep[1:] = False
    return keep


def _quaternions(frames: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the turns of frames (N, 4, 4) as unit quaternions (N, 4), each on the near side of the one before."""
    from scipy.spatial.transform import Rotation

    found = Rotation.from_matrix(frames[:, :3, :3]).as_quat()
    flips = np.sign(np.einsum("ij,ij->i", found[1:], found[:-1]))
    found[1:] *= np.cumprod(np.where(flips < 0, -1.0, 1.0))[:, None]
    return np.asarray(found)
