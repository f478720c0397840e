"""Structured triangle meshes of tapped holes, in the half plane of radius and height.

Every quadrilateral of the grid is cut by both diagonals: linear triangles crossed in this way
neither lock when they are incompressible nor favour a direction of slip. Triangles know which
vertex of a neighbour lies on which of their own, so that fields may jump from one to the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

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
    in_coil : ndarray of bool, shape (t,)
        Whether a triangle belongs to the insert, not to the parent.
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
    in_coil: BoolArray
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
        on_line: BoolArray = self.joins[:, 1:3].max(axis=1, initial=0) < 2
        return on_line


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


def normals(mesh: Mesh, edges: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return the outward unit normals and lengths of edges given as (triangle, vertex, vertex).

    Parameters
    ----------
    mesh : Mesh
    edges : IntArray

    Returns
    -------
    tuple of ndarray
    """
    x = mesh.corners
    start, end = x[edges[:, 0], edges[:, 1]], x[edges[:, 0], edges[:, 2]]
    along = end - start
    length = np.hypot(along[:, 0], along[:, 1])
    normal = np.stack((along[:, 1], -along[:, 0]), axis=-1) / length[:, None]
    # A triangle is counter-clockwise: its edges run 0-1, 1-2, 2-0; the other way turns the normal.
    backward = (edges[:, 2] - edges[:, 1]) % 3 == 2
    normal[backward] *= -1
    return normal, length


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A grid of quadrilaterals with a name for each of its four sides.

    Attributes
    ----------
    radius, height : ndarray, shape (columns + 1, rows + 1), mm
    labels : mapping of side ("inner", "outer", "lower", "upper") to a name or one per edge
    flow : float
    body : int
        Blocks of one body grow together where their nodes coincide.
    """

    radius: FloatArray
    height: FloatArray
    labels: dict[str, str | Sequence[str]]
    flow: float = 1.0
    body: int = 0


def column_block(
    radii: FloatArray,
    lower: FloatArray,
    upper: FloatArray,
    fractions: FloatArray,
    *,
    labels: dict[str, str | Sequence[str]],
    flow: float = 1.0,
    body: int = 0,
) -> Block:
    """Return a block whose columns stand at `radii` between two lines, cut at `fractions`.

    Parameters
    ----------
    radii, lower, upper : ndarray, mm, shape (n,)
    fractions : ndarray, shape (m,)
    labels : dict[str, str | Sequence[str]]
    flow : float, optional
    body : int, optional

    Returns
    -------
    Block
    """
    height = lower[:, None] + (upper - lower)[:, None] * fractions[None, :]
    radius = np.broadcast_to(radii[:, None], height.shape)
    return Block(radius=radius, height=height, labels=labels, flow=flow, body=body)


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
        Height after which the structure repeats: sides labelled "bottom" and "top" meet.
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
    points: list[FloatArray] = []
    owners: list[IntArray] = []
    quads: list[IntArray] = []
    flows: list[FloatArray] = []
    named: list[tuple[str, IntArray]] = []
    count = 0
    for block in blocks:
        columns, rows = block.radius.shape
        index = count + np.arange(columns * rows).reshape(columns, rows)
        corner = (index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:])
        quad = np.stack([c.ravel() for c in corner], axis=1)
        points.append(np.stack((block.radius.ravel(), block.height.ravel()), axis=1))
        owners.append(np.full(columns * rows, block.body))
        quads.append(quad)
        flows.append(np.full(len(quad), block.flow))
        lines = {
            "inner": index[0],
            "outer": index[-1],
            "lower": index[:, 0],
            "upper": index[:, -1],
        }
        for side, label in block.labels.items():
            line = lines[side]
            edges = np.stack((line[:-1], line[1:]), axis=1)
            names = [label] * len(edges) if isinstance(label, str) else list(label)
            named += [(name, edge) for name, edge in zip(names, edges, strict=True)]
        count += columns * rows
    nodes = np.concatenate(points)
    owner = np.concatenate(owners)
    quad = np.concatenate(quads)
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
    flow = np.repeat(np.concatenate(flows), 4)

    labels = {}
    for name, edge in named:
        labels[_edge_key(inverse[edge])] = name
    mesh_edges = _edges(triangles)
    meets: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
    for triangle, i, j in mesh_edges:
        meets.setdefault(_edge_key((triangles[triangle, i], triangles[triangle, j])), []).append(
            (triangle, i, j)
        )
    joins, kinds_of_join, sides = [], [], []
    open_edges: dict[str, list[tuple[int, int, int]]] = {}
    for edge_key, found in meets.items():
        if len(found) == 2:
            joins.append(_matched(nodes, triangles, found[0], found[1], 0.0))
            kinds_of_join.append(Join.WHOLE)
        else:
            open_edges.setdefault(labels.get(edge_key, "free"), []).append(found[0])
    pairs = [(a, b, 0.0, Join.CONTACT) for a, b in contacts]
    if period is not None:
        pairs.append(("bottom", "top", period, Join.WHOLE))
    for lower_name, upper_name, shift, kind in pairs:
        below, above = open_edges.pop(lower_name, []), open_edges.pop(upper_name, [])
        place = _middles(nodes, triangles, below) + np.array((0.0, shift))
        apart = np.linalg.norm(place[:, None] - _middles(nodes, triangles, above)[None], axis=-1)
        order = apart.argmin(axis=1) if len(above) else np.zeros(0, dtype=np.int64)
        if (
            len(below) != len(above)
            or len(np.unique(order)) != len(order)
            or apart.min(axis=1, initial=np.inf).max(initial=0.0) > 10 * scale
        ):
            raise GeometryError(f"the edges of {lower_name!r} and {upper_name!r} do not meet")
        for edge_below, other in zip(below, order, strict=True):
            joins.append(_matched(nodes, triangles, edge_below, above[other], shift))
            kinds_of_join.append(kind)
    side_kind = []
    for name, edges_here in open_edges.items():
        sides += edges_here
        side_kind += [kinds.get(name, Side.FREE)] * len(edges_here)
    return Mesh(
        nodes=nodes,
        triangles=triangles,
        flow=flow,
        joins=np.array(joins, dtype=np.int64).reshape(-1, 6),
        join_kind=np.array(kinds_of_join, dtype=np.int64),
        sides=np.array(sides, dtype=np.int64).reshape(-1, 3),
        side_kind=np.array(side_kind, dtype=np.int64),
        in_coil=np.repeat(np.concatenate([np.full(_cells(b), b.body > 0) for b in blocks]), 4),
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


def _cells(block: Block) -> int:
    columns, rows = block.radius.shape
    return int((columns - 1) * (rows - 1))


def _edges(triangles: IntArray) -> list[tuple[int, int, int]]:
    return [(t, i, (i + 1) % 3) for t in range(len(triangles)) for i in range(3)]


def _edge_key(edge: Sequence[int] | IntArray) -> tuple[int, int]:
    a, b = int(edge[0]), int(edge[1])
    return (a, b) if a < b else (b, a)


def _middles(
    nodes: FloatArray, triangles: IntArray, edges: Sequence[tuple[int, int, int]]
) -> FloatArray:
    e = np.array(edges, dtype=np.int64).reshape(-1, 3)
    return 0.5 * (nodes[triangles[e[:, 0], e[:, 1]]] + nodes[triangles[e[:, 0], e[:, 2]]])


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _matched(
    nodes: FloatArray,
    triangles: IntArray,
    first: tuple[int, int, int],
    second: tuple[int, int, int],
    shift: float,
) -> tuple[int, int, int, int, int, int]:
    (a, ai, aj), (b, bi, bj) = first, second
    start = nodes[triangles[a, ai]] + np.array((0.0, shift))
    straight = np.abs(nodes[triangles[b, bi]] - start).sum()
    crossed = np.abs(nodes[triangles[b, bj]] - start).sum()
    return (a, ai, aj, b, bi, bj) if straight < crossed else (a, ai, aj, b, bj, bi)
