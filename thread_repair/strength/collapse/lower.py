"""Lower bound: the largest load that a statically admissible stress field carries.

The unknowns are S = radius x stress (radial, axial, shear), linear in each triangle and free to
jump where the traction does not. Then d(S_r)/dr + d(S_rz)/dz is constant in a triangle, and the
radial equation makes it the hoop stress; the axial equation is one condition per triangle. The
von Mises function of S less radius x flow stress is convex, so that holding it at the three
vertices holds it everywhere between. Nothing is approximated but the outline and the solver's
arithmetic; the certificate removes the latter.
"""

from __future__ import annotations

import numpy as np

from ...arrays import FloatArray
from .mesh import IntArray, Join, Mesh, Side, gradients, normals
from .programme import Rows, project, solve

#: Pressure kept on every contact, as a share of the flow stress, so that arithmetic noise cannot
#: turn a push into a pull.
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
    _add_joins(mesh, index, equal, push)
    _add_sides(mesh, index, equal, push)

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


def _add_joins(mesh: Mesh, index: IntArray, equal: Rows, push: Rows) -> None:
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


def _add_sides(mesh: Mesh, index: IntArray, equal: Rows, push: Rows) -> None:
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
