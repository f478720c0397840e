"""Meshes of the tapped hole: the periodic cell, the boss of several pitches, the insert's coils.

Height grows in the direction in which the screw is pulled; the ridge of the parent's thread is
pushed by its lower flank. Ridges stand at heights 0, P, 2P ... A line of the mesh lies on the
cylinder of the screw's major diameter, along which the handbooks let the thread shear: a mesh
that misses it overestimates the upper bound by several per cent.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import FloatArray, positive
from ...errors import GeometryError
from .mesh import Block, Mesh, Side, assemble


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadPair:
    """Internal thread and what is screwed into it.

    Attributes
    ----------
    screw_major : float, mm
        Major diameter of the screw, or outside diameter of the insert.
    hole_minor, hole_pitch_diameter, hole_major : float, mm
        Of the tapped hole.
    pitch : float, mm
    flank_angle : float, deg
        Included angle.
    """

    screw_major: float
    hole_minor: float
    hole_pitch_diameter: float
    hole_major: float
    pitch: float
    flank_angle: float = 60.0

    def __post_init__(self) -> None:
        positive(**{name: size for name, size in asdict(self).items() if name != "flank_angle"})
        if not 0 <= self.flank_angle < 120:
            raise GeometryError(f"flank_angle must be from 0 to 120 deg, got {self.flank_angle:g}")
        if not self.hole_minor < self.screw_major <= self.hole_major * (1 + 1e-9):
            raise GeometryError.of("screw_within_hole", pair=self)
        if self.thickness(self.hole_minor) <= 0 or self.thickness(self.hole_major) >= self.pitch:
            raise GeometryError.of("flanks_meet", pair=self)

    @property
    def slope(self) -> float:
        """Tangent of half the flank angle."""
        return float(np.tan(np.radians(self.flank_angle / 2)))

    def thickness(self, diameter: float) -> float:
        """Axial thickness of the parent's ridge at a diameter [mm]."""
        return self.pitch / 2 + (diameter - self.hole_pitch_diameter) * self.slope

    @property
    def shear_area(self) -> float:
        """Area of the parent on the cylinder of the screw's major diameter, per pitch [mm2].

        Source: FED-STD-H28/2B (1991), Appendix B, internal pair. Known from: memory.
        """
        return float(np.pi * self.screw_major * self.thickness(self.screw_major))


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """Cross-section of the insert's wire, as one closed ring per pitch.

    Attributes
    ----------
    screw_major : float, mm
        Major diameter of the screw inside the insert.
    inner, middle, outer : float, mm
        Diameters of the wire's inner edge, its widest place and its outer edge.
    width : float, mm
        Axial width at the widest place.
    flow_ratio : float
        Flow stress of the wire over that of the parent.
    """

    screw_major: float
    inner: float
    middle: float
    outer: float
    width: float
    flow_ratio: float

    def __post_init__(self) -> None:
        if not self.inner < self.screw_major <= self.middle < self.outer:
            raise GeometryError.of("coil_diameters_rise", coil=self)
        positive(width=self.width, flow_ratio=self.flow_ratio)


@dataclass(frozen=True, slots=True, kw_only=True)
class Density:
    """Numbers of mesh cells.

    Attributes
    ----------
    ridge_rows, ridge_columns : int
        Across the ridge's thickness; from its crest to the shear cylinder.
    root_rows : int
        On each half of the flat between two ridges.
    wall_columns : int
        From the root to the outside.
    growth : float
        Ratio of the widths of neighbouring wall columns.
    """

    ridge_rows: int
    ridge_columns: int
    root_rows: int = 1
    wall_columns: int = 6
    growth: float = 1.5

    def refined(self, factor: int) -> Density:
        """Return a mesh each of whose cells is cut `factor` times both ways."""
        cells = ("ridge_rows", "ridge_columns", "root_rows", "wall_columns")
        finer = {name: getattr(self, name) * factor for name in cells}
        return replace(self, growth=self.growth ** (1 / factor), **finer)


def boss_density(pair: ThreadPair, boss_diameter: float) -> Density:
    """Return a mesh whose wall cells are about as wide at the root as the ridge's rows are high.

    Parameters
    ----------
    pair : ThreadPair
    boss_diameter : float, mm

    Returns
    -------
    Density
    """
    rows, growth = 4, 1.2
    thickness = (boss_diameter - pair.hole_major) / 2
    first = pair.thickness(pair.hole_major) / rows
    columns = np.log1p(max(thickness, 0.0) / first * (growth - 1)) / np.log(growth)
    cells = max(5, int(np.ceil(columns)))
    return Density(ridge_rows=rows, ridge_columns=rows, wall_columns=cells, growth=growth)


def cell_mesh(
    pair: ThreadPair, outer_diameter: float, density: Density, *, coil: Coil | None = None
) -> Mesh:
    """Return one pitch of an endless thread in a wall that is held at `outer_diameter`.

    Parameters
    ----------
    pair : ThreadPair
    outer_diameter : float, mm
    density : Density
    coil : Coil, optional

    Returns
    -------
    Mesh
    """
    return boss_mesh(
        pair, outer_diameter, 1, density, outside=Side.HELD, coil=coil, period=pair.pitch
    )


def boss_mesh(
    pair: ThreadPair,
    boss_diameter: float,
    n_pitches: int,
    density: Density,
    *,
    base: Side = Side.FREE,
    face: Side = Side.FREE,
    outside: Side = Side.FREE,
    coil: Coil | None = None,
    bearing_diameter: float | None = None,
    period: float | None = None,
) -> Mesh:
    """Return a boss with `n_pitches` ridges, held at its base (low) or on its face (high end).

    The screw pushes each ridge directly or through a ring of the coil. The face bears from
    `bearing_diameter` outwards, by default from the hole's major diameter.

    Parameters
    ----------
    pair : ThreadPair
    boss_diameter : float, mm
    n_pitches : int
    density : Density
    base, face, outside : Side, optional
    coil : Coil, optional
    bearing_diameter : float, mm, optional
    period : float, mm, optional
        Height after which the thread repeats.

    Returns
    -------
    Mesh

    Raises
    ------
    GeometryError
        If the boss is not wider than its hole.
    """
    if not boss_diameter > pair.hole_major:
        raise GeometryError.of("no_wall", boss_diameter=boss_diameter, pair=pair)
    blocks: list[Block] = []
    for k in range(n_pitches):
        ends = ("base" if k == 0 else "inside", "face" if k == n_pitches - 1 else "inside")
        blocks += _pitch_blocks(pair, boss_diameter, density, k, ends, bearing_diameter)
        if coil:
            blocks.append(_coil_block(pair, coil, density, k))
    touched = [f"flank {k}" for k in range(n_pitches)]
    contacts = [(each, each.replace("flank", "coil")) for each in touched] if coil else []
    driven = [f"inside {k}" for k in range(n_pitches)] if coil else touched
    kinds = {"base": base, "face": face, "outside": outside} | dict.fromkeys(driven, Side.DRIVER)
    return assemble(blocks, kinds, period=period, contacts=contacts)


def _spread(start: float, end: float, cells: int) -> FloatArray:
    return np.linspace(start, end, cells + 1)


def _between(lower: FloatArray, upper: FloatArray, fractions: FloatArray) -> FloatArray:
    """Heights of the rows of each column between two lines."""
    return lower[:, None] + (upper - lower)[:, None] * fractions


def _ridge_radii(pair: ThreadPair, density: Density) -> FloatArray:
    crest, cylinder = pair.hole_minor / 2, pair.screw_major / 2
    radii = [_spread(crest, cylinder, density.ridge_columns)]
    if pair.hole_major > pair.screw_major * (1 + 1e-6):
        step = (cylinder - crest) / density.ridge_columns
        rest = pair.hole_major / 2 - cylinder
        # Flanks that overlap by a micrometre would ask for hundreds of columns behind them.
        columns = min(max(1, round(rest / step)), 4 * density.ridge_columns)
        radii.append(_spread(cylinder, pair.hole_major / 2, columns)[1:])
    return np.concatenate(radii)


def _wall_radii(
    pair: ThreadPair, outer_diameter: float, density: Density, line_diameter: float | None
) -> FloatArray:
    """Radii of the wall's columns, one of them on the given line."""
    inner, outer = pair.hole_major / 2, outer_diameter / 2
    steps = density.growth ** np.arange(density.wall_columns)
    radii: FloatArray = inner + (outer - inner) * np.concatenate(
        ((0.0,), np.cumsum(steps) / steps.sum())
    )
    radii[-1] = outer
    if line_diameter is not None and line_diameter / 2 > inner * (1 + 1e-9):
        if not line_diameter < outer_diameter:
            raise GeometryError.of(
                "face_beyond_boss", line_diameter=line_diameter, outer_diameter=outer_diameter
            )
        nearest = 1 + int(np.abs(radii[1:-1] - line_diameter / 2).argmin())
        radii[nearest] = line_diameter / 2
    return radii


def _pitch_blocks(
    pair: ThreadPair,
    outer_diameter: float,
    density: Density,
    k: int,
    ends: tuple[str, str],
    bearing_diameter: float | None,
) -> list[Block]:
    """Ridge k and the wall behind it."""
    centre = k * pair.pitch
    radii = _ridge_radii(pair, density)
    half = np.array([pair.thickness(2 * r) / 2 for r in radii])
    reach = pair.screw_major / 2
    flank = np.where(radii[1:] <= reach * (1 + 1e-9), f"flank {k}", "free")
    rows = _spread(0.0, 1.0, density.ridge_rows)
    heights = _between(centre - half, centre + half, rows)
    ridge = Block(radii=radii, heights=heights, labels={"lower": flank})
    wall = _wall_radii(pair, outer_diameter, density, bearing_diameter)
    bearing = (bearing_diameter or 0.0) / 2
    upper = np.where(wall[:-1] >= bearing * (1 - 1e-9), ends[1], "free")
    low, high = centre - pair.pitch / 2, centre + pair.pitch / 2
    root = half[-1]
    below = _spread(low, centre - root, density.root_rows)
    beside = centre - root + 2 * root * rows[1:]
    above = _spread(centre + root, high, density.root_rows)[1:]
    labels: dict[str, ArrayLike] = {"lower": ends[0], "upper": upper, "outer": "outside"}
    return [ridge, Block(radii=wall, heights=np.concatenate((below, beside, above)), labels=labels)]


def _coil_block(pair: ThreadPair, coil: Coil, density: Density, k: int) -> Block:
    """Ring k of the insert, its outer upper flank on the lower flank of ridge k."""
    touch = [r for r in _ridge_radii(pair, density) if r <= pair.screw_major / 2 * (1 + 1e-9)]
    middle, outer, screw = coil.middle / 2, coil.outer / 2, coil.screw_major / 2
    if not middle <= touch[0] or abs(outer - pair.screw_major / 2) > 1e-9 * outer:
        raise GeometryError.of("coil_does_not_fit", coil=coil, pair=pair)
    marks = [coil.inner / 2, screw, middle, touch[0]]
    step = (touch[-1] - touch[0]) / density.ridge_columns
    radii = [np.array(marks[:1])]
    for start, end in pairwise(marks):
        if end > start * (1 + 1e-6):
            radii.append(_spread(start, end, max(1, round((end - start) / step)))[1:])
    radii.append(np.array(touch[1:]))
    radius = np.concatenate(radii)
    half = coil.width / 2 - np.abs(radius - middle) * pair.slope
    if half.min() <= 0:
        raise GeometryError(f"a wire {coil.width:g} mm wide ends before its edges")
    # The flank in contact is the line of the parent's lower flank.
    flank = k * pair.pitch - pair.thickness(2 * middle) / 2
    centre = flank - coil.width / 2
    inside = np.where(radius[1:] <= screw * (1 + 1e-9), f"inside {k}", "free")
    outside = np.where(radius[:-1] >= touch[0] * (1 - 1e-9), f"coil {k}", "free")
    rows = _spread(0.0, 1.0, max(2, density.ridge_rows))
    return Block(
        radii=radius,
        heights=_between(centre - half, centre + half, rows),
        labels={"lower": inside, "upper": outside},
        flow=coil.flow_ratio,
        body=k + 1,
    )
