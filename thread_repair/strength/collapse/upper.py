"""Upper bound: the least load that a kinematically admissible velocity field dissipates.

The unknowns are W = radius x velocity (radial, axial), linear in each triangle. Incompressibility
is then dW_r/dr + dW_z/dz = 0, one exact condition per triangle. Radius squared x strain rate is
linear too, so that its norm lies below the interpolation of its vertex values and 1/radius below
the interpolation of its own: the dissipation minimised here is never too small. Velocities may
jump along the lines of the grid, tangentially, at the cost of the shear flow stress.
"""

from __future__ import annotations

import numpy as np

from ...arrays import FloatArray
from .mesh import BoolArray, IntArray, Join, Mesh, Side, gradients, normals
from .programme import Rows, project, solve

#: Share of the driver's speed by which contacts open, so that arithmetic noise cannot close them.
CONTACT_MARGIN = 1e-6


def velocity_field(
    mesh: Mesh, *, slip: BoolArray | None = None, tolerance: float = 1e-7
) -> FloatArray:
    """Minimise the dissipation over the velocity fields that let the driver move at unit speed.

    Parameters
    ----------
    mesh : Mesh
    slip : ndarray of bool, shape (j,), optional
        The joins along which velocities may jump; by default the lines of the grid, not the
        diagonals.
    tolerance : float, optional
        Of the solver; the certificate does not rest on it.

    Returns
    -------
    ndarray, shape (t, 3, 2), mm x driver speed
        W = radius x velocity (radial, axial) at the vertices of each triangle.
    """
    t = len(mesh.triangles)
    slip = mesh.grid_joins if slip is None else slip
    slip = slip | (mesh.join_kind == Join.CONTACT)
    dof, unknowns = _degrees_of_freedom(mesh, slip)
    gradient, area = gradients(mesh)
    radius = mesh.corners[..., 0]

    jumps = mesh.joins[slip & (mesh.join_kind == Join.WHOLE)]
    held = mesh.sides[mesh.side_kind == Side.HELD]
    n_jumps = 2 * (len(jumps) + len(held))
    total = unknowns + 3 * t + n_jumps
    rate_at = unknowns + np.arange(3 * t).reshape(t, 3)
    jump_at = unknowns + 3 * t + np.arange(n_jumps)
    cost = np.zeros(total)
    # The programme works on W over the mean radius, and on rates times the triangle's size over
    # radius squared, so that its numbers are all like velocities.
    scale = float(radius.mean())
    rate_unit = np.sqrt(area)[:, None] / radius
    cost[rate_at] = mesh.flow[:, None] * vertex_weights(mesh.corners, area) / rate_unit

    equal, least = Rows(total), Rows(total)
    least_to: list[FloatArray] = []
    equal.add(
        dof.reshape(t, 6),
        gradient.reshape(t, 6) * np.sqrt(area)[:, None],
    )
    used = 0
    normal, length = normals(mesh, jumps[:, :3])
    strength = np.minimum(mesh.flow[jumps[:, 0]], mesh.flow[jumps[:, 3]]) / np.sqrt(3.0)
    tangent = np.column_stack((-normal[:, 1], normal[:, 0]))
    for end in (1, 2):
        at = np.concatenate(
            (dof[jumps[:, 0], jumps[:, end]], dof[jumps[:, 3], jumps[:, 3 + end]]), 1
        )
        equal.add(at, np.concatenate((normal, -normal), axis=1))
        used = _add_slip(least, least_to, at, np.concatenate((tangent, -tangent), 1), jump_at, used)
        cost[jump_at[used - len(jumps) : used]] = 0.5 * strength * length
    normal, length = normals(mesh, held)
    tangent = np.column_stack((-normal[:, 1], normal[:, 0]))
    strength = mesh.flow[held[:, 0]] / np.sqrt(3.0)
    for end in (1, 2):
        at = dof[held[:, 0], held[:, end]]
        equal.add(at, normal)
        used = _add_slip(least, least_to, at, tangent, jump_at, used)
        cost[jump_at[used - len(held) : used]] = 0.5 * strength * length
    _add_sides(mesh, dof, equal, least, least_to)
    contact = mesh.joins[mesh.join_kind == Join.CONTACT]
    normal, _ = normals(mesh, contact[:, :3])
    for end in (1, 2):
        here, there = dof[contact[:, 0], contact[:, end]], dof[contact[:, 3], contact[:, 3 + end]]
        least.add(np.concatenate((here, there), 1), np.concatenate((-normal, normal), axis=1))
        least_to.append(CONTACT_MARGIN * radius[contact[:, 0], contact[:, end]])

    cone = Rows(total)
    for v in range(3):
        first = cone.count + 4 * np.arange(t)
        cone.put(first, rate_at[:, v, None], np.ones((t, 1)))
        for k, weights in enumerate(rate_weights(gradient, radius[:, v], v), start=1):
            weights = weights * rate_unit[:, v, None, None]
            cone.put(first + k, dof.reshape(t, 6), weights.reshape(t, 6))
        cone.count += 4 * t
    equal_matrix = equal.matrix()
    _, driven = normals(mesh, mesh.sides[mesh.side_kind == Side.DRIVER])
    solution = solve(
        cost=cost / driven.sum(),  # so that the solver sees loads of order one
        equal=equal_matrix,
        equal_to=np.zeros(equal.count),
        at_least=least.matrix(),
        at_least_to=np.concatenate(least_to) / scale,
        cone=cone.matrix(),
        cone_offset=np.zeros(cone.count),
        cone_size=4,
        tolerance=tolerance,
    )
    motion = project(solution[:unknowns], equal_matrix[:, :unknowns].tocsc(), np.zeros(equal.count))
    return scale * motion[dof]


def vertex_weights(corners: FloatArray, area: FloatArray) -> FloatArray:
    """Weights at the vertices that over-estimate the integral of a convex function / radius.

    Convex function and 1/radius are both replaced by the interpolation of their vertex values,
    which lies above each; the product of two linear functions is integrated exactly.

    Parameters
    ----------
    corners : ndarray, mm
    area : ndarray, mm2

    Returns
    -------
    ndarray
    """
    inverse = 1.0 / corners[..., 0]
    weights: FloatArray = area[:, None] / 12 * (inverse.sum(axis=1, keepdims=True) + inverse)
    return weights


def rate_weights(
    gradient: FloatArray, radius: FloatArray, vertex: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the weights of W in the three strain-rate terms at one vertex of each triangle.

    Their root sum of squares is radius squared x equivalent strain rate: with zero volume change
    e_eq^2 = e_z^2 + (e_r - e_t)^2/3 + g_rz^2/3.

    Parameters
    ----------
    gradient : ndarray
    radius : ndarray, mm
    vertex : int

    Returns
    -------
    tuple of three ndarrays, shape (t, 3, 2)
    """
    axial = np.zeros_like(gradient)
    axial[..., 1] = radius[:, None] * gradient[..., 1]
    across = np.zeros_like(gradient)
    across[..., 0] = radius[:, None] * gradient[..., 0]
    across[:, vertex, 0] -= 2.0
    shear = radius[:, None, None] * gradient[..., ::-1]
    shear[:, vertex, 1] -= 1.0
    return axial, across / np.sqrt(3.0), shear / np.sqrt(3.0)


def _degrees_of_freedom(mesh: Mesh, slip: BoolArray) -> tuple[IntArray, int]:
    """Return the number of each velocity; vertices that meet without slip share theirs."""
    from scipy import sparse
    from scipy.sparse.csgraph import connected_components

    t = len(mesh.triangles)
    joins = mesh.joins[~slip]
    a = np.concatenate([3 * joins[:, 0] + joins[:, end] for end in (1, 2)])
    b = np.concatenate([3 * joins[:, 3] + joins[:, 3 + end] for end in (1, 2)])
    graph = sparse.coo_matrix((np.ones(len(a)), (a, b)), shape=(3 * t, 3 * t))
    count, group = connected_components(graph, directed=False)
    group = group.astype(np.int64).reshape(t, 3)
    return np.stack((2 * group, 2 * group + 1), axis=-1), 2 * int(count)


def _add_slip(
    least: Rows,
    least_to: list[FloatArray],
    at: IntArray,
    weights: FloatArray,
    jump_at: IntArray,
    used: int,
) -> int:
    """Hold a jump variable above both signs of the tangential jump."""
    own = jump_at[used : used + len(at)][:, None]
    for sign in (1.0, -1.0):
        least.add(
            np.concatenate((own, at), axis=1),
            np.concatenate((np.ones(own.shape), sign * weights), axis=1),
        )
        least_to.append(np.zeros(len(at)))
    return used + len(at)


def _add_sides(
    mesh: Mesh, dof: IntArray, equal: Rows, least: Rows, least_to: list[FloatArray]
) -> None:
    normal, _ = normals(mesh, mesh.sides)
    radius = mesh.corners[..., 0]
    approach = -normal @ np.asarray(mesh.direction)
    for end in (1, 2):
        triangle, vertex = mesh.sides[:, 0], mesh.sides[:, end]
        at = dof[triangle, vertex]
        roller = mesh.side_kind == Side.ROLLER
        equal.add(at[roller], normal[roller])
        plate = mesh.side_kind == Side.PLATE
        least.add(at[plate], -normal[plate])
        least_to.append(CONTACT_MARGIN * radius[triangle, vertex][plate])
        driver = mesh.side_kind == Side.DRIVER
        least.add(at[driver], -normal[driver])
        least_to.append(radius[triangle, vertex][driver] * (approach[driver] + CONTACT_MARGIN))
