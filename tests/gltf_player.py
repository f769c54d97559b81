"""A player of glTF 2.0 animations for tests, written from the standard's text alone; it knows nothing of dryfit.

Source: Khronos, glTF 2.0 specification (ISO/IEC 12113:2022): 3.5.3 Transformations, 3.6 Binary data, 3.11 Animations,
appendix C Animation sampler interpolation modes.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pygltflib
from numpy.typing import NDArray

Array = NDArray[np.float64]
WIDTH = {"SCALAR": 1, "VEC3": 3, "VEC4": 4}


class Player:
    """One GLB file; asked where each node is, and how large, at a time of one of its animations."""

    def __init__(self, path: Path) -> None:
        self.file = pygltflib.GLTF2().load(str(path))
        self.blob = self.file.binary_blob()
        self.nodes = self.file.nodes
        self.name = [node.name for node in self.nodes]
        self.parent = {child: k for k, node in enumerate(self.nodes) for child in node.children or ()}
        self.animations = {a.name: a for a in self.file.animations}
        self._values: dict[int, Array] = {}

    def values(self, accessor: int) -> Array:
        if accessor not in self._values:
            self._values[accessor] = self._read(accessor)
        return self._values[accessor]

    def _read(self, accessor: int) -> Array:
        about = self.file.accessors[accessor]
        view = self.file.bufferViews[about.bufferView]
        start = (view.byteOffset or 0) + (about.byteOffset or 0)
        assert about.componentType == pygltflib.FLOAT and view.byteStride is None
        found = np.frombuffer(self.blob, "<f4", about.count * WIDTH[about.type], start)
        return found.reshape(about.count, -1).astype(np.float64)

    def length(self, animation: str) -> float:
        return max(float(self.values(s.input)[-1, 0]) for s in self.animations[animation].samplers)

    def keys(self, animation: str, node: str, path: str) -> tuple[Array, Array] | None:
        """The times and values of one channel."""
        one = self.animations[animation]
        for channel in one.channels:
            if self.name[channel.target.node] == node and channel.target.path == path:
                sampler = one.samplers[channel.sampler]
                return self.values(sampler.input)[:, 0], self.values(sampler.output)
        return None

    def world(self, animation: str | None = None, time: float = 0.0) -> dict[str, Array]:
        """Each node's matrix into the file's world (metres, y up), by its name."""
        local = [_static(node) for node in self.nodes]
        if animation is not None:
            one = self.animations[animation]
            for channel in one.channels:
                sampler = one.samplers[channel.sampler]
                local[channel.target.node][channel.target.path] = _sampled(
                    self.values(sampler.input)[:, 0], self.values(sampler.output), sampler.interpolation, time,
                    channel.target.path)
        matrices = [_matrix(one) for one in local]

        outwards: dict[int, Array] = {}

        def found(k: int) -> Array:
            if k not in outwards:
                outwards[k] = found(self.parent[k]) @ matrices[k] if k in self.parent else matrices[k]
            return outwards[k]

        return {name: found(k) for k, name in enumerate(self.name)}


def _static(node: pygltflib.Node) -> dict[str, Array]:
    if node.matrix is not None:
        return {"matrix": np.array(node.matrix).reshape(4, 4).T}
    return {"translation": np.array(node.translation or (0, 0, 0), dtype=float),
            "rotation": np.array(node.rotation or (0, 0, 0, 1), dtype=float),
            "scale": np.array(node.scale or (1, 1, 1), dtype=float)}


def _sampled(times: Array, values: Array, way: str, time: float, path: str) -> Array:
    after = int(np.searchsorted(times, time, side="right"))
    if after == 0 or after == len(times) or way == "STEP":
        return values[max(after - 1, 0)]
    share = (time - times[after - 1]) / (times[after] - times[after - 1])
    one, other = values[after - 1], values[after]
    return _slerp(one, other, share) if path == "rotation" else one + share * (other - one)


def _slerp(one: Array, other: Array, share: float) -> Array:
    dot = float(one @ other)
    angle = np.arccos(min(1.0, abs(dot)))
    if angle < 1e-6:
        return one
    return (np.sin(angle * (1 - share)) * one + np.sign(dot) * np.sin(angle * share) * other) / np.sin(angle)


def _matrix(local: dict[str, Array]) -> Array:
    if "matrix" in local:
        return local["matrix"]
    x, y, z, w = local["rotation"] / np.linalg.norm(local["rotation"])
    turn = np.array([[1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
                     [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
                     [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)]])
    found = np.eye(4)
    found[:3, :3], found[:3, 3] = turn * local["scale"], local["translation"]
    return found
