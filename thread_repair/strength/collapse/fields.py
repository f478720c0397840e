"""The best stress and velocity fields: a lower and an upper bound, as cone programmes.

Lower bound: the largest load that a statically admissible stress field carries.

The unknowns are S = radius x stress (radial, axial, shear), linear in each triangle and free to
jump where the traction does not. Then d(S_r)/dr + d(S_rz)/dz is constant in a triangle, and the
radial equation makes it the hoop stress; the axial equation is one condition per triangle. The
von Mises function of S less radius x flow stress is convex, so that holding it at the three
vertices holds it everywhere between. Nothing is approximated but the outline and the solver's
arithmetic; the certificate removes the latter.

Upper bound: the least load that a kinematically admissible velocity field dissipates.

The unknowns are W = radius x velocity (radial, axial), linear in each triangle. Incompressibility
is then dW_r/dr + dW_z/dz = 0, one exact condition per triangle. Radius squared x strain rate is
linear too, so that its norm lies below the interpolation of its vertex values and 1/radius below
the interpolation of its own: the dissipation minimised here is never too small. Velocities may
jump along the lines of the grid, tangentially, at the cost of the shear flow stress.
"""

import numpy as np

from ...arrays import FloatArray
from .mesh import BoolArray, IntArray, Join, Mesh, Side, gradients, normals
from .programme import Rows, project, solve

#: Pressure kept on every contact, as a share of the flow stress, and share of the driver's speed by
#: which contacts open, so that arithmetic noise can neither turn a push into a pull nor close them.
CONTACT_MARGIN = 1e-6


def stress_field(mesh: Mesh, *, tolerance: float = 1e-7) -> FloatArray:
    """Maximise the driver's load over the stress fields in equilibrium and within yield.

    Parameters
    ----------
    mesh : Mesh
    tolerance : float, optional

    Returns
    -------
    ndarray, shape (t, 3, 3), mm x flow stress
        S = radius x (radial, axial, shear stress) at the vertices of each triangle.
    """
    t = len(mesh.triangles)
    index = np.arange(9 * t).reshape(t, 3, 3)  # triangle, vertex, component
    gradient, area = gradients(mesh)
    radius = mesh.corners[..., 0]
    size = np.sqrt(area)
    scale = float(radius.mean())  # the programme works on S over this radius

    equal, push = Rows(9 * t), Rows(9 * t)
    # Axial equilibrium, times the triangle's size to keep the rows alike.
    equal.add(
        np.concatenate((index[:, :, 2], index[:, :, 1]), axis=1),
        np.concatenate((gradient[..., 0], gradient[..., 1]), axis=1) * size[:, None],
    )
    _joins_of_stress(mesh, index, equal, push)
    _sides_of_stress(mesh, index, equal, push)

    objective = np.zeros(9 * t)
    driver = mesh.sides[mesh.side_kind == Side.DRIVER]
    normal, _, length = normals(mesh, driver)
    unit = float(length.sum())  # the driver's length, so that the solver sees loads of order one
    along = _axis_weights(normal, mesh.direction)
    for end in (1, 2):
        at = index[driver[:, 0], driver[:, end]]
        np.add.at(objective, at, 0.5 * length[:, None] * along / unit)

    # Yield: radius x flow >= | S_z - (S_r + S_t)/2, sqrt(3)/2 (S_r - S_t), sqrt(3) S_rz |.
    cones = [Rows(9 * t) for _ in range(4)]
    hoop_at = np.concatenate((index[:, :, 0], index[:, :, 2]), axis=1)
    hoop_weight = np.concatenate((gradient[..., 0], gradient[..., 1]), axis=1)
    for v in range(3):
        hoop = hoop_weight * radius[:, v, None]
        sr, sz, st = (index[:, v, c] for c in range(3))
        ones = np.ones(t)
        cones[0].add(np.zeros((t, 0), np.int64), 0.0, radius[:, v] / scale * mesh.flow)
        cones[1].add(
            np.column_stack((sz, sr, hoop_at)), np.column_stack((ones, -0.5 * ones, -0.5 * hoop))
        )
        cones[2].add(np.column_stack((sr, hoop_at)), np.sqrt(0.75) * np.column_stack((ones, -hoop)))
        cones[3].add(st[:, None], np.sqrt(3.0))
    solution = solve(-objective, equal, push, cones, tolerance=tolerance)
    return scale * project(solution, equal.matrix()).reshape(t, 3, 3)


def _axis_weights(normal: FloatArray, axis: tuple[float, float] | FloatArray) -> FloatArray:
    """Weights of (S_r, S_z, S_rz) in the traction on `normal` along `axis`, a row each."""
    ar, az = np.moveaxis(np.asarray(axis, dtype=np.float64), -1, 0)
    nr, nz = normal.T
    return np.column_stack((nr * ar, nz * az, nz * ar + nr * az))


def _joins_of_stress(mesh: Mesh, index: IntArray, equal: Rows, push: Rows) -> None:
    for kind in Join:
        joins = mesh.joins[mesh.join_kind == kind]
        normal, tangent, _ = normals(mesh, joins[:, :3])
        for end in (1, 2):
            here, there = index[joins[:, 0], joins[:, end]], index[joins[:, 3], joins[:, 3 + end]]
            both = np.concatenate((here, there), axis=1)
            if kind == Join.WHOLE:
                for axis in ((1.0, 0.0), (0.0, 1.0)):
                    weights = _axis_weights(normal, axis)
                    equal.add(both, np.concatenate((weights, -weights), 1))
            else:
                along, across = _axis_weights(normal, tangent), _axis_weights(normal, normal)
                equal.add(here, along)
                equal.add(there, along)
                equal.add(both, np.concatenate((across, -across), axis=1))
                push.add(here, -across, CONTACT_MARGIN)


def _sides_of_stress(mesh: Mesh, index: IntArray, equal: Rows, push: Rows) -> None:
    normal, tangent, _ = normals(mesh, mesh.sides)
    smooth = mesh.side_kind != Side.HELD
    pushed = (mesh.side_kind == Side.PLATE) | (mesh.side_kind == Side.DRIVER)
    free = mesh.side_kind == Side.FREE
    along, across = _axis_weights(normal, tangent), _axis_weights(normal, normal)
    for end in (1, 2):
        at = index[mesh.sides[:, 0], mesh.sides[:, end]]
        equal.add(at[smooth], along[smooth])
        equal.add(at[free], across[free])
        push.add(at[pushed], -across[pushed], CONTACT_MARGIN)


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
    _sides_of_velocity(mesh, dof, equal, least, scale)
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
    return area[:, None] / 12 * (inverse.sum(axis=1, keepdims=True) + inverse)


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


def _sides_of_velocity(mesh: Mesh, dof: IntArray, equal: Rows, least: Rows, scale: float) -> None:
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
