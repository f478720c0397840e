"""Structured triangle meshes of tapped holes, in the half plane of radius and height.

Every quadrilateral of the grid is cut by both diagonals: linear triangles crossed in this way
neither lock when they are incompressible nor favour a direction of slip. Triangles know which
vertex of a neighbour lies on which of their own, so that fields may jump from one to the next.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...arrays import FloatArray
from ...errors import GeometryError

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


class Side(IntEnum):
    """What acts on an edge of the outline."""

    FREE = 0
    HELD = 1  # bonded to a rigid body at rest
    ROLLER = 2  # a rigid body at rest, no friction, holds both ways
    PLATE = 3  # a rigid body at rest, no friction, pushes only
    DRIVER = 4  # the rigid screw: no friction, pushes only, moves at unit speed


class Join(IntEnum):
    """How two triangles meet at an edge."""

    WHOLE = 0
    CONTACT = 1  # two bodies: no friction, push only


@dataclass(frozen=True, slots=True, kw_only=True)
class Mesh:
    """Triangles, the pairs of edges at which they meet, and the edges of the outline.

    Attributes
    ----------
    nodes : ndarray, shape (n, 2), mm
        Radius and height.
    triangles : ndarray of int, shape (t, 3)
        Counter-clockwise.
    flow : ndarray, shape (t,)
        Flow stress of each triangle over that of the parent.
    joins : ndarray of int, shape (j, 6)
        Triangle and its two vertices (0, 1 or 2), then the other triangle and the vertices that
        lie on them (one pitch away at the seam of a periodic cell).
    join_kind : ndarray of int, shape (j,)
    sides : ndarray of int, shape (s, 3)
        Triangle and the two vertices of its edge, counter-clockwise.
    side_kind : ndarray of int, shape (s,)
    direction : tuple of float
        Direction of the driver's motion (radius, height).
    """

    nodes: FloatArray
    triangles: IntArray
    flow: FloatArray
    joins: IntArray
    join_kind: IntArray
    sides: IntArray
    side_kind: IntArray
    direction: tuple[float, float] = (0.0, 1.0)

    def __post_init__(self) -> None:
        for field in fields(self):
            if isinstance(array := getattr(self, field.name), np.ndarray):
                array.setflags(write=False)

    @property
    def corners(self) -> FloatArray:
        """Coordinates of each triangle's vertices, shape (t, 3, 2) [mm]."""
        return self.nodes[self.triangles]

    @property
    def grid_joins(self) -> BoolArray:
        """Whether each join lies on a line of the grid (a diagonal ends at vertex 2)."""
        return self.joins[:, 1:3].max(axis=1, initial=0) < 2


def gradients(mesh: Mesh) -> tuple[FloatArray, FloatArray]:
    """Return the gradients of the three linear shape functions and the triangles' areas.

    Parameters
    ----------
    mesh : Mesh

    Returns
    -------
    gradient : ndarray, shape (t, 3, 2), 1/mm
    area : ndarray, shape (t,), mm2
    """
    x = mesh.corners
    following, last = np.roll(x, -1, axis=1), np.roll(x, -2, axis=1)
    opposite = last - following
    first, second = x[:, 1] - x[:, 0], x[:, 2] - x[:, 0]
    area = 0.5 * (first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0])
    gradient = np.stack((-opposite[..., 1], opposite[..., 0]), axis=-1) / (2 * area)[:, None, None]
    return gradient, area


def normals(mesh: Mesh, edges: IntArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return outward unit normals, tangents and lengths of edges given as (triangle, two vertices).

    Parameters
    ----------
    mesh : Mesh
    edges : IntArray

    Returns
    -------
    tuple of ndarray
    """
    x = mesh.corners
    along = x[edges[:, 0], edges[:, 2]] - x[edges[:, 0], edges[:, 1]]
    length = np.hypot(along[:, 0], along[:, 1])
    normal = np.stack((along[:, 1], -along[:, 0]), axis=-1) / length[:, None]
    # A triangle is counter-clockwise: its edges run 0-1, 1-2, 2-0; the other way turns the normal.
    backward = (edges[:, 2] - edges[:, 1]) % 3 == 2
    normal[backward] *= -1
    return normal, np.column_stack((-normal[:, 1], normal[:, 0])), length


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A grid of quadrilaterals with a name for each of its four sides.

    Attributes
    ----------
    radii : ndarray, shape (columns + 1,), mm
    heights : ndarray, shape (columns + 1, rows + 1), mm; or (rows + 1,), the same at every radius
    labels : mapping of side ("inner", "outer", "lower", "upper") to a name or one per edge
    flow : float
    body : int
        Blocks of one body grow together where their nodes coincide.
    """

    radii: FloatArray
    heights: FloatArray
    labels: Mapping[str, ArrayLike]
    flow: float = 1.0
    body: int = 0


#: Where the sides of a block stand in its grid.
_SIDES: Mapping[str, Any] = {"inner": 0, "outer": -1, "lower": np.s_[:, 0], "upper": np.s_[:, -1]}


def assemble(
    blocks: Sequence[Block],
    kinds: dict[str, Side],
    *,
    period: float | None = None,
    contacts: Sequence[tuple[str, str]] = (),
    direction: tuple[float, float] = (0.0, 1.0),
) -> Mesh:
    """Join blocks into a mesh.

    Parameters
    ----------
    blocks : sequence of Block
    kinds : mapping of label to Side
        Labels not named are free.
    period : float, optional, mm
        Height after which the structure repeats: sides labelled "base" and "face" meet.
    contacts : sequence of pairs of labels
        Sides of two bodies that touch; their nodes coincide.
    direction : pair of float
        Direction of the driver.

    Returns
    -------
    Mesh

    Raises
    ------
    GeometryError
        If edges that should meet do not.
    """
    points, quads, names, lines = ([] for _ in range(4))
    count = 0
    for block in blocks:
        radius, height = np.broadcast_arrays(block.radii[:, None], block.heights)
        index = count + np.arange(radius.size).reshape(radius.shape)
        count += index.size
        corner = (index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:])
        points.append(np.stack((radius.ravel(), height.ravel()), axis=1))
        quads.append(np.stack([c.ravel() for c in corner], axis=1))
        for side, label in block.labels.items():
            line = index[_SIDES[side]]
            lines.append(np.stack((line[:-1], line[1:]), axis=1))
            names.append(np.broadcast_to(label, len(line) - 1))
    nodes, quad = np.concatenate(points), np.concatenate(quads)
    body, flow = (np.array([getattr(each, name) for each in blocks]) for name in ("body", "flow"))
    owner = np.repeat(body, [len(each) for each in points])
    triangles_of = [4 * len(each) for each in quads]
    # Coinciding nodes of one body become one.
    scale = 1e-7 * np.ptp(nodes, axis=0).max()
    key = np.column_stack((*(_groups(at, scale) for at in nodes.T), owner))
    _, first, inverse = np.unique(key, axis=0, return_index=True, return_inverse=True)
    inverse = inverse.reshape(-1)
    nodes, quad = nodes[first], inverse[quad]
    # At the crossing of the diagonals, where the fourth of the crossed triangles' incompressibility
    # conditions follows from the other three; elsewhere they would lock.
    a, b, c, d = (nodes[quad[:, i]] for i in range(4))
    first_diagonal, second_diagonal = c - a, d - b
    share = _cross(b - a, second_diagonal) / _cross(first_diagonal, second_diagonal)
    centre = a + share[:, None] * first_diagonal
    middle = len(nodes) + np.arange(len(quad))
    following = np.roll(quad, -1, axis=1)
    triangles = np.stack(
        (quad, following, np.broadcast_to(middle[:, None], quad.shape)), axis=-1
    ).reshape(-1, 3)
    nodes = np.concatenate((nodes, centre))
    corners = nodes[triangles]
    vertex = np.arange(3 * len(triangles)) % 3
    edges = np.stack((np.arange(3 * len(triangles)) // 3, vertex, (vertex + 1) % 3), axis=1)
    ends = np.sort(triangles[edges[:, :1], edges[:, 1:]], axis=1)
    _, first, where, times = np.unique(
        ends, axis=0, return_index=True, return_inverse=True, return_counts=True
    )
    where = where.reshape(-1)
    order = np.argsort(first[where], kind="stable")  # the two edges that meet stand together
    meets = times[where[order]] == 2
    pairs = edges[order[meets]].reshape(-1, 2, 3)
    joins = [_matched(corners, pairs[:, 0], pairs[:, 1], 0.0)]
    join_kind = [np.full(len(pairs), Join.WHOLE)]
    labelled = map(tuple, np.sort(inverse[np.concatenate(lines)], axis=1).tolist())
    labels = dict(zip(labelled, np.concatenate(names).tolist(), strict=True))
    outline, outline_ends = edges[order[~meets]], ends[order[~meets]]
    name = np.array([labels.get(tuple(each), "free") for each in outline_ends.tolist()])
    meetings = [(a, b, 0.0, Join.CONTACT) for a, b in contacts]
    if period is not None:
        meetings.append(("base", "face", period, Join.WHOLE))
    for lower, upper, shift, kind in meetings:
        below, above = outline[name == lower], outline[name == upper]
        place = _middles(corners, below) + np.array((0.0, shift))
        apart = np.linalg.norm(place[:, None] - _middles(corners, above)[None], axis=-1)
        nearest = apart.argmin(axis=1) if len(above) else np.zeros(0, dtype=np.int64)
        if (
            len(below) != len(above)
            or len(np.unique(nearest)) != len(nearest)
            or apart.min(axis=1, initial=np.inf).max(initial=0.0) > 10 * scale
        ):
            raise GeometryError(f"the edges of {lower!r} and {upper!r} do not meet")
        joins.append(_matched(corners, below, above[nearest], shift))
        join_kind.append(np.full(len(below), kind))
        outline, name = (each[(name != lower) & (name != upper)] for each in (outline, name))
    seen = list(dict.fromkeys(name.tolist()))
    order = np.argsort([seen.index(each) for each in name.tolist()], kind="stable")
    return Mesh(
        nodes=nodes,
        triangles=triangles,
        flow=np.repeat(flow, triangles_of),
        joins=np.concatenate(joins),
        join_kind=np.concatenate(join_kind),
        sides=outline[order],
        side_kind=np.array([kinds.get(each, Side.FREE) for each in name[order].tolist()], np.int64),
        direction=direction,
    )


def _groups(values: FloatArray, apart: float) -> IntArray:
    """Number the values so that those less than `apart` from the next one share their number.

    Rounding them instead would tear a mesh where two that should be one lie astride a half.
    """
    order = np.argsort(values)
    group = np.zeros(len(values), dtype=np.int64)
    group[order[1:]] = np.cumsum(np.diff(values[order]) > apart)
    return group


def _middles(corners: FloatArray, edges: IntArray) -> FloatArray:
    return 0.5 * (corners[edges[:, 0], edges[:, 1]] + corners[edges[:, 0], edges[:, 2]])


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _matched(corners: FloatArray, first: IntArray, second: IntArray, shift: float) -> IntArray:
    """Pairs of edges as joins: the vertices of the second in the order of those of the first."""
    start = corners[first[:, 0], first[:, 1]] + np.array((0.0, shift))
    straight, crossed = (
        np.abs(corners[second[:, 0], second[:, end]] - start).sum(axis=-1) for end in (1, 2)
    )
    turned = np.where((straight < crossed)[:, None], second, second[:, [0, 2, 1]])
    return np.concatenate((first, turned), axis=1)
