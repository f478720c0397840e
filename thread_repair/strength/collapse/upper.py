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
    total = unknowns + 3 * t + 2 * (len(jumps) + len(held))
    rate_at = unknowns + np.arange(3 * t).reshape(t, 3)
    cost = np.zeros(total)
    # The programme works on W over the mean radius, and on rates times the triangle's size over
    # radius squared, so that its numbers are all like velocities.
    scale = float(radius.mean())
    rate_unit = np.sqrt(area)[:, None] / radius
    cost[rate_at] = mesh.flow[:, None] * _vertex_weights(mesh.corners, area) / rate_unit

    equal, least = Rows(total), Rows(total)
    equal.add(dof.reshape(t, 6), gradient.reshape(t, 6) * np.sqrt(area)[:, None])
    jump_at = unknowns + 3 * t
    for edges, second in ((jumps, True), (held, False)):
        normal, tangent, length = normals(mesh, edges[:, :3])
        strength = mesh.flow[edges[:, 0]]
        if second:
            strength = np.minimum(strength, mesh.flow[edges[:, 3]])
            normal, tangent = (np.concatenate((each, -each), axis=1) for each in (normal, tangent))
        for end in (1, 2):
            at = dof[edges[:, 0], edges[:, end]]
            if second:
                at = np.concatenate((at, dof[edges[:, 3], edges[:, 3 + end]]), axis=1)
            equal.add(at, normal)
            # A jump's own variable lies above both signs of the tangential jump.
            own = jump_at + np.arange(len(edges))
            for sign in (1.0, -1.0):
                weights = np.column_stack((np.ones(len(edges)), sign * tangent))
                least.add(np.column_stack((own, at)), weights)
            cost[own] = 0.5 * (strength / np.sqrt(3.0)) * length
            jump_at += len(edges)
    _add_sides(mesh, dof, equal, least, scale)
    contact = mesh.joins[mesh.join_kind == Join.CONTACT]
    normal, _, _ = normals(mesh, contact[:, :3])
    for end in (1, 2):
        here, there = dof[contact[:, 0], contact[:, end]], dof[contact[:, 3], contact[:, 3 + end]]
        margin = CONTACT_MARGIN * radius[contact[:, 0], contact[:, end]] / scale
        least.add(
            np.concatenate((here, there), 1), np.concatenate((-normal, normal), axis=1), margin
        )

    cones = [Rows(total) for _ in range(4)]
    for v in range(3):
        cones[0].add(rate_at[:, v, None], 1.0)
        for rows, weights in zip(cones[1:], _rate_weights(gradient, radius[:, v], v), strict=True):
            weights = weights * rate_unit[:, v, None, None]
            rows.add(dof.reshape(t, 6), weights.reshape(t, 6))
    driven = normals(mesh, mesh.sides[mesh.side_kind == Side.DRIVER])[-1]
    # Over the driver's length, so that the solver sees loads of order one.
    solution = solve(cost / driven.sum(), equal, least, cones, tolerance=tolerance)
    motion = project(solution[:unknowns], equal.matrix()[:, :unknowns].tocsc())
    return scale * motion[dof]


def _vertex_weights(corners: FloatArray, area: FloatArray) -> FloatArray:
    """Weights at the vertices that over-estimate the integral of a convex function / radius.

    Convex function and 1/radius are both replaced by the interpolation of their vertex values,
    which lies above each; the product of two linear functions is integrated exactly.
    """
    inverse = 1.0 / corners[..., 0]
    weights: FloatArray = area[:, None] / 12 * (inverse.sum(axis=1, keepdims=True) + inverse)
    return weights


def _rate_weights(
    gradient: FloatArray, radius: FloatArray, vertex: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the weights of W in the three strain-rate terms at one vertex of each triangle.

    Their root sum of squares is radius squared x equivalent strain rate: with zero volume change
    e_eq^2 = e_z^2 + (e_r - e_t)^2/3 + g_rz^2/3.
    """
    axial, across = np.zeros_like(gradient), np.zeros_like(gradient)
    axial[..., 1] = radius[:, None] * gradient[..., 1]
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


def _add_sides(mesh: Mesh, dof: IntArray, equal: Rows, least: Rows, scale: float) -> None:
    normal, _, _ = normals(mesh, mesh.sides)
    approach = -normal @ np.asarray(mesh.direction)
    roller, plate, driver = (
        mesh.side_kind == kind for kind in (Side.ROLLER, Side.PLATE, Side.DRIVER)
    )
    for end in (1, 2):
        triangle, vertex = mesh.sides[:, 0], mesh.sides[:, end]
        at, radius = dof[triangle, vertex], mesh.corners[triangle, vertex, 0]
        equal.add(at[roller], normal[roller])
        least.add(at[plate], -normal[plate], CONTACT_MARGIN * radius[plate] / scale)
        needed = radius[driver] * (approach[driver] + CONTACT_MARGIN)
        least.add(at[driver], -normal[driver], needed / scale)
