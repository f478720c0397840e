"""Certificates: is this field what makes a bound a bound, whatever the solver said of it.

Plain array arithmetic on the returned field and the mesh. Nothing here shares code with the
programmes that found the field, except the mesh record itself.
"""

from __future__ import annotations

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
    residuals : tuple of (name, value)
        Largest violation of each condition, relative.
    scale : float
        The field was multiplied by this: 1 / worst yield ratio (lower), 1 / worst approach of the
        driver (upper).
    """

    load: float
    residuals: tuple[tuple[str, float], ...]
    scale: float

    @property
    def worst(self) -> float:
        """The largest residual."""
        return max(value for _, value in self.residuals)


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
    for end in (1, 2):
        first, second, normal = _join_tractions(mesh, stress, end)
        residuals[f"traction across edges, end {end}"] = (
            np.abs(first + second)[whole].max(axis=-1, initial=0.0) / unit
        )
        contact = ~whole
        residuals[f"contact pressures differ, end {end}"] = (
            np.abs(first + second)[contact].max(axis=-1, initial=0.0) / unit
        )
        press, drag = _split(first[contact], normal[contact])
        residuals[f"contact pulls, end {end}"] = np.maximum(press, 0.0) / unit
        residuals[f"contact drags, end {end}"] = np.abs(drag) / unit

    load = 0.0
    normal, length = _edge_normals(x, mesh.sides)
    kind = mesh.side_kind
    for end in (1, 2):
        traction = _traction(stress[mesh.sides[:, 0], mesh.sides[:, end]], normal)
        press, drag = _split(traction, normal)
        free = kind == Side.FREE
        pushes = (kind == Side.PLATE) | (kind == Side.DRIVER)
        residuals[f"free surface pressed, end {end}"] = np.abs(press[free]) / unit
        residuals[f"sides drag, end {end}"] = np.abs(drag[kind != Side.HELD]) / unit
        residuals[f"sides pull, end {end}"] = np.maximum(press[pushes], 0.0) / unit
        driver = kind == Side.DRIVER
        force = traction[driver] @ np.asarray(mesh.direction)
        load += 2 * np.pi * float((0.5 * length[driver] * force).sum())
    found = tuple((name, float(value.max(initial=0.0))) for name, value in residuals.items())
    _refuse("lower", found, finite=bool(np.isfinite(stress).all()) and ratio > 0)
    return Certificate(load=load / ratio, residuals=found, scale=1 / ratio)


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
        residuals[f"edges open, end {end}"] = np.abs(across[whole]) / unit
        residuals[f"bodies overlap, end {end}"] = np.maximum(across[~whole], 0.0) / unit
        work += 2 * np.pi * float((0.5 * length * shear * np.abs(along))[whole].sum())

    normal, length = _edge_normals(x, mesh.sides)
    kind = mesh.side_kind
    approach = np.inf
    for end in (1, 2):
        at = motion[mesh.sides[:, 0], mesh.sides[:, end]]
        across, along = _split(at, normal)
        still = (kind == Side.HELD) | (kind == Side.ROLLER)
        residuals[f"support moves, end {end}"] = np.abs(across[still]) / unit
        plate = np.maximum(across[kind == Side.PLATE], 0.0)
        residuals[f"plate is entered, end {end}"] = plate / unit
        held = kind == Side.HELD
        shear_here = mesh.flow[mesh.sides[:, 0]] / np.sqrt(3.0)
        work += 2 * np.pi * float((0.5 * length * shear_here * np.abs(along))[held].sum())
        driver = kind == Side.DRIVER
        needed = radius[mesh.sides[:, 0], mesh.sides[:, end]] * (
            -normal @ np.asarray(mesh.direction)
        )
        pressed = driver & (needed > TOLERANCE * unit)
        approach = min(approach, float((-across[pressed] / needed[pressed]).min(initial=np.inf)))
        other = driver & ~pressed
        residuals[f"driver is entered, end {end}"] = np.maximum(across + needed, 0.0)[other] / unit
    found = tuple((name, float(value.max(initial=0.0))) for name, value in residuals.items())
    _refuse("upper", found, finite=bool(np.isfinite(motion).all()) and 0 < approach < np.inf)
    return Certificate(load=work / approach, residuals=found, scale=1 / approach)


def equivalent_rates(mesh: Mesh, motion: FloatArray) -> FloatArray:
    """Return the equivalent strain rate at the vertices of each triangle, shape (t, 3) [1/mm].

    Parameters
    ----------
    mesh : Mesh
    motion : ndarray

    Returns
    -------
    ndarray, 1/mm, shape (t, 3)
    """
    rates: FloatArray = _scaled_rates(
        mesh.corners[..., 0], motion, _slopes(mesh.corners, motion)[:, None]
    ) / np.square(mesh.corners[..., 0])
    return rates


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
    determinant: FloatArray = np.linalg.det(x[:, 1:] - x[:, :1])
    return determinant


def _edge_normals(x: FloatArray, edges: IntArray) -> tuple[FloatArray, FloatArray]:
    """Return unit normals away from the triangle's third vertex, and the edges' lengths."""
    triangle, i, j = edges[:, 0], edges[:, 1], edges[:, 2]
    along = x[triangle, j] - x[triangle, i]
    length = np.sqrt((along**2).sum(axis=-1))
    normal = along[:, ::-1] * (1.0, -1.0) / length[:, None]
    inward = ((x[triangle, 3 - i - j] - x[triangle, i]) * normal).sum(axis=-1) > 0
    return np.where(inward[:, None], -normal, normal), length


def _traction(stress: FloatArray, normal: FloatArray) -> FloatArray:
    return np.stack(
        (
            stress[:, 0] * normal[:, 0] + stress[:, 2] * normal[:, 1],
            stress[:, 2] * normal[:, 0] + stress[:, 1] * normal[:, 1],
        ),
        axis=-1,
    )


def _split(vector: FloatArray, normal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Parts along the normal and along the edge."""
    along = vector[:, 1] * normal[:, 0] - vector[:, 0] * normal[:, 1]
    return (vector * normal).sum(axis=-1), along


def _join_tractions(
    mesh: Mesh, stress: FloatArray, end: int
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Tractions on both bodies at one end of every join; the normal is the first body's."""
    normal, _ = _edge_normals(mesh.corners, mesh.joins[:, :3])
    first = stress[mesh.joins[:, 0], mesh.joins[:, end]]
    second = stress[mesh.joins[:, 3], mesh.joins[:, 3 + end]]
    other, _ = _edge_normals(mesh.corners, mesh.joins[:, 3:])
    return _traction(first, normal), _traction(second, other), normal


def _refuse(bound: str, residuals: tuple[tuple[str, float], ...], *, finite: bool) -> None:
    name, worst = max(residuals, key=lambda item: item[1])
    if not finite or not worst <= TOLERANCE:
        raise NotCertifiedError(
            f"the {bound} bound is not certified: {name} is violated by {worst:.1e} "
            f"(at most {TOLERANCE:.0e})"
        )
