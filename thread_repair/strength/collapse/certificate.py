"""Certificates: is this field what makes a bound a bound, whatever the solver said of it.

Plain array arithmetic on the returned field and the mesh. Nothing here shares code with the
programmes that found the field, except the mesh record itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ...arrays import FloatArray
from ...errors import ThreadRepairError
from .mesh import IntArray, Join, Mesh, Side

#: Largest residual, relative to flow stress x radius or to driver speed x radius, that counts as
#: rounding.
TOLERANCE = 1e-9


class NotCertifiedError(ThreadRepairError, RuntimeError):
    """A field failed its certificate; the bound is not to be used."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """What the checker found.

    Attributes
    ----------
    load : float, N for unit flow stress
        The bound.
    worst : float
        Largest violation of any condition, relative.
    scale : float
        The field was multiplied by this: 1 / worst yield ratio (lower), 1 / worst approach of the
        driver (upper).
    """

    load: float
    worst: float
    scale: float


def certify_lower(mesh: Mesh, stress: FloatArray) -> Certificate:
    """Check a field of S = radius x stress and return the load it proves.

    Parameters
    ----------
    mesh : Mesh
    stress : ndarray, shape (t, 3, 3)
        S_r, S_z, S_rz at the vertices of each triangle, mm x flow stress.

    Returns
    -------
    Certificate

    Raises
    ------
    NotCertifiedError
        If equilibrium, a free surface or a contact is violated by more than rounding.
    """
    x = mesh.corners
    slopes = _slopes(x, stress)  # triangle, component, direction
    size = np.sqrt(np.abs(_double_area(x)))
    radius = x[..., 0]
    unit = float((mesh.flow[:, None] * radius).max())
    residuals = {"axial equilibrium": np.abs(slopes[:, 2, 0] + slopes[:, 1, 1]) * size / unit}

    hoop = (slopes[:, 0, 0] + slopes[:, 2, 1])[:, None] * radius
    sr, sz, srz = stress[..., 0], stress[..., 1], stress[..., 2]
    mises = np.sqrt(0.5 * ((sr - sz) ** 2 + (sz - hoop) ** 2 + (hoop - sr) ** 2) + 3 * srz**2)
    ratio = float((mises / (mesh.flow[:, None] * radius)).max())

    whole = mesh.join_kind == Join.WHOLE
    normal, _ = _edge_normals(x, mesh.joins[:, :3])
    other, _ = _edge_normals(x, mesh.joins[:, 3:])
    for end in (1, 2):
        first = _traction(stress[mesh.joins[:, 0], mesh.joins[:, end]], normal)
        second = _traction(stress[mesh.joins[:, 3], mesh.joins[:, 3 + end]], other)
        apart = np.abs(first + second) / unit
        press, drag = _split(first[~whole], normal[~whole])
        residuals |= {
            f"traction across edges, end {end}": apart[whole],
            f"contact pressures differ, end {end}": apart[~whole],
            f"contact pulls, end {end}": np.maximum(press, 0.0) / unit,
            f"contact drags, end {end}": np.abs(drag) / unit,
        }

    load = 0.0
    normal, length = _edge_normals(x, mesh.sides)
    kind = mesh.side_kind
    driver = kind == Side.DRIVER
    for end in (1, 2):
        traction = _traction(stress[mesh.sides[:, 0], mesh.sides[:, end]], normal)
        press, drag = _split(traction, normal)
        pushes = (kind == Side.PLATE) | driver
        residuals |= {
            f"free surface pressed, end {end}": np.abs(press[kind == Side.FREE]) / unit,
            f"sides drag, end {end}": np.abs(drag[kind != Side.HELD]) / unit,
            f"sides pull, end {end}": np.maximum(press[pushes], 0.0) / unit,
        }
        force = traction[driver] @ np.asarray(mesh.direction)
        load += 2 * np.pi * float((0.5 * length[driver] * force).sum())
    worst = _worst("lower", residuals, finite=bool(np.isfinite(stress).all()) and ratio > 0)
    return Certificate(load=load / ratio, worst=worst, scale=1 / ratio)


def certify_upper(mesh: Mesh, motion: FloatArray, *, parts: int = 4) -> Certificate:
    """Check a field of W = radius x velocity and return the load it proves.

    The dissipation is recomputed on `parts` squared pieces of every triangle: on each the norm of
    (radius squared x strain rate), which is convex, and 1/radius are replaced by interpolations
    that lie above them, so that the sum is above the integral.

    Parameters
    ----------
    mesh : Mesh
    motion : ndarray, shape (t, 3, 2)
        W_r, W_z at the vertices of each triangle, mm x driver speed.
    parts : int, optional

    Returns
    -------
    Certificate

    Raises
    ------
    NotCertifiedError
        If incompressibility, a join or a boundary is violated by more than rounding.
    """
    x = mesh.corners
    slopes = _slopes(x, motion)
    size = np.sqrt(np.abs(_double_area(x)))
    radius = x[..., 0]
    unit = float(radius.max())
    residuals = {"volume": np.abs(slopes[:, 0, 0] + slopes[:, 1, 1]) * size / unit}

    work = _dissipation(mesh, motion, slopes, parts)
    whole = mesh.join_kind == Join.WHOLE
    normal, length = _edge_normals(x, mesh.joins[:, :3])
    shear = np.minimum(mesh.flow[mesh.joins[:, 0]], mesh.flow[mesh.joins[:, 3]]) / np.sqrt(3.0)
    for end in (1, 2):
        here = motion[mesh.joins[:, 0], mesh.joins[:, end]]
        there = motion[mesh.joins[:, 3], mesh.joins[:, 3 + end]]
        across, along = _split(here - there, normal)
        residuals |= {
            f"edges open, end {end}": np.abs(across[whole]) / unit,
            f"bodies overlap, end {end}": np.maximum(across[~whole], 0.0) / unit,
        }
        work += 2 * np.pi * float((0.5 * length * shear * np.abs(along))[whole].sum())

    normal, length = _edge_normals(x, mesh.sides)
    kind = mesh.side_kind
    held, driver = kind == Side.HELD, kind == Side.DRIVER
    shear = mesh.flow[mesh.sides[:, 0]] / np.sqrt(3.0)
    approach = np.inf
    for end in (1, 2):
        across, along = _split(motion[mesh.sides[:, 0], mesh.sides[:, end]], normal)
        work += 2 * np.pi * float((0.5 * length * shear * np.abs(along))[held].sum())
        needed = radius[mesh.sides[:, 0], mesh.sides[:, end]] * (
            -normal @ np.asarray(mesh.direction)
        )
        pressed = driver & (needed > TOLERANCE * unit)
        approach = min(approach, float((-across[pressed] / needed[pressed]).min(initial=np.inf)))
        other = driver & ~pressed
        residuals |= {
            f"support moves, end {end}": np.abs(across[held | (kind == Side.ROLLER)]) / unit,
            f"plate is entered, end {end}": np.maximum(across[kind == Side.PLATE], 0.0) / unit,
            f"driver is entered, end {end}": np.maximum(across + needed, 0.0)[other] / unit,
        }
    finite = bool(np.isfinite(motion).all()) and 0 < approach < np.inf
    worst = _worst("upper", residuals, finite=finite)
    return Certificate(load=work / approach, worst=worst, scale=1 / approach)


def _dissipation(mesh: Mesh, motion: FloatArray, slopes: FloatArray, parts: int) -> float:
    x = mesh.corners
    area = 0.5 * np.abs(_double_area(x)) / parts**2
    total = np.zeros(len(x))
    for share in _pieces(parts):
        radius = np.einsum("pv,tv->tp", share, x[..., 0])
        here = np.einsum("pv,tvc->tpc", share, motion)
        rate = _scaled_rates(radius, here, slopes[:, None])
        inverse = 1.0 / radius
        total += area / 12 * (rate.sum(1) * inverse.sum(1) + (rate * inverse).sum(1))
    return 2 * np.pi * float((mesh.flow * total).sum())


def _pieces(parts: int) -> FloatArray:
    """Barycentric coordinates of the corners of parts^2 equal pieces of a triangle."""
    found = []
    for i in range(parts):
        for j in range(parts - i):
            found.append(((i, j), (i + 1, j), (i, j + 1)))
            if i + j < parts - 1:
                found.append(((i + 1, j), (i + 1, j + 1), (i, j + 1)))
    grid = np.array(found, dtype=np.float64) / parts
    return np.concatenate((grid, 1 - grid.sum(axis=-1, keepdims=True)), axis=-1)


def _scaled_rates(radius: FloatArray, motion: FloatArray, slopes: FloatArray) -> FloatArray:
    """Radius squared x equivalent strain rate; last axes of slopes: component, direction."""
    er = radius * slopes[..., 0, 0] - motion[..., 0]
    et = motion[..., 0]
    ez = radius * slopes[..., 1, 1]
    g = radius * (slopes[..., 0, 1] + slopes[..., 1, 0]) - motion[..., 1]
    return np.sqrt(2 / 3 * (er**2 + et**2 + ez**2) + g**2 / 3)


def _slopes(x: FloatArray, field: FloatArray) -> FloatArray:
    """Return the derivatives of a linear field, shape (t, components, 2)."""
    edges = x[:, 1:] - x[:, :1]
    changes = field[:, 1:] - field[:, :1]
    return np.swapaxes(np.linalg.solve(edges, changes), 1, 2)


def _double_area(x: FloatArray) -> FloatArray:
    return np.linalg.det(x[:, 1:] - x[:, :1])


def _edge_normals(x: FloatArray, edges: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return unit normals away from the triangle's third vertex, and the edges' lengths."""
    triangle, i, j = edges[:, 0], edges[:, 1], edges[:, 2]
    along = x[triangle, j] - x[triangle, i]
    length = np.sqrt((along**2).sum(axis=-1))
    normal = along[:, ::-1] * (1.0, -1.0) / length[:, None]
    inward = ((x[triangle, 3 - i - j] - x[triangle, i]) * normal).sum(axis=-1) > 0
    return np.where(inward[:, None], -normal, normal), length


def _traction(stress: FloatArray, normal: FloatArray) -> FloatArray:
    (sr, sz, srz), (nr, nz) = stress.T, normal.T
    return np.column_stack((sr * nr + srz * nz, srz * nr + sz * nz))


def _split(vector: FloatArray, normal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Parts along the normal and along the edge."""
    along = vector[:, 1] * normal[:, 0] - vector[:, 0] * normal[:, 1]
    return (vector * normal).sum(axis=-1), along


def _worst(bound: str, residuals: Mapping[str, FloatArray], *, finite: bool) -> float:
    """Return the largest residual; refuse the field if it is more than rounding."""
    largest = {name: float(value.max(initial=0.0)) for name, value in residuals.items()}
    name, worst = max(largest.items(), key=lambda item: item[1])
    if not finite or not worst <= TOLERANCE:
        raise NotCertifiedError.of(
            "bound_not_certified", bound=bound, name=name, worst=worst, tolerance=TOLERANCE
        )
    return worst
