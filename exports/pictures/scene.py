"""The scene: pieces with their place and colour, and what the camera sees of them, pixel by pixel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from exports.pictures.camera import HEIGHT, WIDTH, Camera
from exports.pictures.creases import drawn
from exports.pictures.palette import Colour
from model.frames import Frame, directions, points
from model.solids import Solid

FINE = 2
"""Pictures are drawn this many times finer and then averaged down."""


@dataclass(frozen=True, eq=False)
class Piece:
    """One piece as it appears: its solid, the frame it stands in, its colours and how it is told apart.

    `hatch` is the colour of the stripes that mark a temporary piece, `grain` how strongly its
    growth rings show (0: plain), `heavy` whether it stands out by a thick outline and full shade.
    """

    name: str
    solid: Solid
    frame: Frame
    tone: Colour
    edge: Colour
    hatch: Colour | None = None
    grain: float = 0.0
    heavy: bool = False

    @cached_property
    def vertices(self) -> NDArray[np.float64]:
        """Corners in the world, mm (N, 3)."""
        return points(self.frame, drawn(self.solid).vertices)

    @cached_property
    def bounds(self) -> NDArray[np.float64]:
        """Lowest and highest corner in the world, mm (2, 3)."""
        return np.array([self.vertices.min(axis=0), self.vertices.max(axis=0)])


@dataclass(frozen=True, eq=False)
class View:
    """What the camera sees, FINE times finer than the picture, rows from the top.

    `piece` numbers the piece seen at each pixel from 1 (0: nothing), `face` the triangle of the
    scene from 1 (0 where nothing or an edge is seen), `depth` mm behind the camera's centre plane
    (infinite where nothing is).
    """

    pieces: tuple[Piece, ...]
    camera: Camera
    piece: NDArray[np.int32]
    face: NDArray[np.int32]
    depth: NDArray[np.float32]
    normals: NDArray[np.float64]
    """Unit normals in the world of the scene's triangles (M, 3)."""
    owner: NDArray[np.int64]
    """The piece of each triangle, counted from 0 (M,)."""

    @cached_property
    def number(self) -> dict[str, int]:
        """Each piece's number in `piece` by its name."""
        return {p.name: i for i, p in enumerate(self.pieces, 1)}

    def sees(self, at: NDArray[np.float64], slack: float) -> NDArray[np.bool_]:
        """Return for each point (N, 3) whether nothing more than `slack` mm before it hides it."""
        pixel = np.floor(self.camera.project(at) * FINE).astype(int)
        rows, columns = self.depth.shape
        inside = (pixel >= 0).all(axis=1) & (pixel[:, 0] < columns) & (pixel[:, 1] < rows)
        seen = np.zeros(len(at), dtype=bool)
        x, y = pixel[inside, 0], pixel[inside, 1]
        seen[inside] = self.depth[y, x] > self.camera.depth(at)[inside] - slack
        return seen


@dataclass(frozen=True, eq=False)
class _Mesh:
    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]
    edges: NDArray[np.int64]
    normals: NDArray[np.float64]
    owner: NDArray[np.int64]
    edge_owner: NDArray[np.int64]


def merged(pieces: Sequence[Piece]) -> _Mesh:
    """Return all pieces as one mesh in the world; triangles and edges know their piece."""
    shapes = [drawn(p.solid) for p in pieces]
    starts = np.cumsum([0, *(len(s.vertices) for s in shapes)])[:-1]
    mirrors = [np.linalg.det(p.frame[:3, :3]) < 0 for p in pieces]
    return _Mesh(
        np.vstack([p.vertices for p in pieces]),
        np.vstack([s.triangles[:, ::-1] + n if m else s.triangles + n
                   for s, n, m in zip(shapes, starts, mirrors, strict=True)]),
        np.vstack([s.edges + n for s, n in zip(shapes, starts, strict=True)]),
        np.vstack([directions(p.frame, s.normals) for p, s in zip(pieces, shapes, strict=True)]),
        np.repeat(np.arange(len(pieces)), [len(s.triangles) for s in shapes]),
        np.repeat(np.arange(len(pieces)), [len(s.edges) for s in shapes]),
    )


class Canvas:
    """One off-screen window for pictures of one size (pixels), used for all of a run. Close it when done (a context
    manager).

    Each face and edge is drawn in a flat colour that is its number; everything else (light,
    outlines, hatching, what hides what) is worked out from the numbers.
    """

    def __init__(self, size: tuple[int, int] = (WIDTH, HEIGHT)) -> None:
        import pyvista

        self._pyvista = pyvista
        self._size = size
        self._plotter: Any = pyvista.Plotter(off_screen=True, window_size=(size[0] * FINE, size[1] * FINE),
                                             lighting="none")
        self._plotter.render_window.SetMultiSamples(0)
        self._plotter.set_background("black")
        self._plotter.enable_parallel_projection()

    def __enter__(self) -> Canvas:
        return self

    def __exit__(self, *_: object) -> None:
        self._plotter.close()

    def look(self, pieces: Sequence[Piece], camera: Camera) -> View:
        """Return what a camera sees of the pieces."""
        mesh = merged(pieces)
        self._show(mesh)
        span = self._aim(camera, mesh.vertices)
        numbers = self._numbers()
        depth = self._depth(span, camera)
        faces = len(mesh.triangles)
        owner = np.concatenate([[-1], mesh.owner, mesh.edge_owner]).astype(np.int32) + 1
        piece = np.take(owner, numbers, mode="clip")
        depth[piece == 0] = np.inf
        numbers[numbers > faces] = 0
        return View(tuple(pieces), camera, piece, numbers, depth, mesh.normals, mesh.owner)

    def _show(self, mesh: _Mesh) -> None:
        self._plotter.clear_actors()
        faces = np.hstack([np.full((len(mesh.triangles), 1), 3), mesh.triangles])
        surface = self._pyvista.PolyData(mesh.vertices.astype(np.float32), faces=faces.ravel())
        surface.cell_data["number"] = _as_colour(1 + np.arange(len(mesh.triangles)))
        actor = self._plotter.add_mesh(surface, scalars="number", rgb=True, lighting=False, reset_camera=False,
                                       render=False)
        actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
        actor.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(1.0, 1.0)
        if len(mesh.edges):
            lines = np.hstack([np.full((len(mesh.edges), 1), 2), mesh.edges])
            wire = self._pyvista.PolyData(mesh.vertices.astype(np.float32), lines=lines.ravel())
            wire.cell_data["number"] = _as_colour(1 + len(mesh.triangles) + np.arange(len(mesh.edges)))
            self._plotter.add_mesh(wire, scalars="number", rgb=True, lighting=False, line_width=1.3 * FINE,
                                   reset_camera=False, render=False)

    def _aim(self, camera: Camera, vertices: NDArray[np.float64]) -> tuple[float, float]:
        behind = camera.depth(vertices)
        near, far = float(behind.min()), float(behind.max())
        margin = 0.01 * (far - near) + 1.0
        middle = camera.world(np.array([self._size]) / 2.0, np.zeros(1))[0]
        stand = margin * 2 - near
        eye = self._plotter.camera
        position = middle - stand * camera.forward
        eye.position, eye.focal_point, eye.up = position, position + 1000.0 * camera.forward, camera.up
        eye.parallel_scale = self._size[1] * camera.mm_per_pixel / 2
        eye.clipping_range = (margin, far + stand + margin)
        return margin - stand, far + margin

    def _numbers(self) -> NDArray[np.int32]:
        from vtkmodules.util.numpy_support import vtk_to_numpy
        from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

        stored = vtkUnsignedCharArray()
        window = self._plotter.render_window
        columns, rows = self._size[0] * FINE, self._size[1] * FINE
        window.Render()
        window.GetRGBACharPixelData(0, 0, columns - 1, rows - 1, 0, stored)
        image = vtk_to_numpy(stored).reshape(rows, columns, 4)[::-1]
        colour = np.ascontiguousarray(image).view(">u4")[..., 0] >> 8
        return colour.astype(np.int32)

    def _depth(self, span: tuple[float, float], camera: Camera) -> NDArray[np.float32]:
        from vtkmodules.util.numpy_support import vtk_to_numpy
        from vtkmodules.vtkCommonCore import vtkFloatArray

        stored = vtkFloatArray()
        columns, rows = self._size[0] * FINE, self._size[1] * FINE
        self._plotter.render_window.GetZbufferData(0, 0, columns - 1, rows - 1, stored)
        z = vtk_to_numpy(stored).reshape(rows, columns)[::-1]
        return np.asarray(span[0] + z * np.float32(span[1] - span[0]), dtype=np.float32)


def _as_colour(numbers: NDArray[np.int64]) -> NDArray[np.uint8]:
    return np.stack([numbers >> 16 & 255, numbers >> 8 & 255, numbers & 255], axis=1).astype(np.uint8)


