"""What do a million joints hold: the primary model in chunks that stay in the cache.

The formulas are those of `primary` and `modes`, rearranged so that few passes are made. With
h = P / (2 tan) a shear area is (rise + h) x cylinder x slope x length, slope = pi tan / P, and
the slope cancels in the strength ratio; C1 is 1 - (1.9 - s/D)^2; the capped bending factors are
their curves between the ratios where they leave the caps. Tests compare the two evaluations.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import TypeAlias

import numpy as np

from ..arrays import FloatArray, Floats
from ..errors import GeometryError
from .areas import strip_area_external, strip_area_internal
from .methods.sae_770420 import (
    BOSS_RATIO_FULL,
    BOSS_RATIO_MIN,
    EXTERNAL_CURVE,
    FACTOR_STRONGER,
    INTERNAL_CURVE,
    external_bending_factor,
    internal_bending_factor,
)
from .modes import ModeInputs, ModeSet
from .primary import wall_factor_used

#: Joints a pass: few enough for the buffers to stay in the cache, enough to make calls cheap.
CHUNK = 32768

#: A number shared by all joints, or one value for each.
Column: TypeAlias = float | FloatArray
Columns: TypeAlias = dict[str, Column]


def capacities(inputs: ModeInputs) -> ModeSet:
    """Capacity of every mode by the primary model.

    Parameters
    ----------
    inputs : ModeInputs
        Of any shape; arrays of the full shape are read in place, smaller ones are expanded,
        single numbers cost nothing.

    Returns
    -------
    ModeSet
        The loads of `modes.results`, each of the shape of the inputs.

    Raises
    ------
    GeometryError
        If threads do not overlap or a boss is not larger than its hole.
    """
    shape = inputs.shape
    count = math.prod(shape)
    columns = _columns(inputs)
    wall = _wall(inputs)
    # one block for all loads: the allocator hands it out again without fresh pages
    screw, parent, *more = np.empty((4, count))
    insert: Column = more[0] if inputs.hole.state == "repaired" else math.inf
    boss: Column = math.inf if _is_nan(columns["boss_diameter"]) else more[1]
    scratch = np.empty((7, min(count, CHUNK)))
    for start in range(0, count, CHUNK):
        part = slice(start, min(start + CHUNK, count))
        at = {k: v if isinstance(v, float) else v[part] for k, v in columns.items()}
        buffers = scratch[:, : part.stop - start]
        at["half"] = _half(at, buffers[0])
        at["slope"] = _slope(at)
        at["wall"] = _wall_here(at, buffers[1]) if wall is None else wall
        _strip_here(at, buffers[2:], screw[part], parent[part])
        if not isinstance(insert, float):
            _insert_here(at, buffers[2], insert[part])
        if not isinstance(boss, float):
            _boss_here(at, buffers[2:], boss[part])
    return ModeSet(
        screw_tension=_shaped(columns["stress_area"] * columns["screw_tensile_min"], shape),
        screw_tension_max=_shaped(columns["stress_area"] * columns["screw_tensile_max"], shape),
        screw_thread_strip=_shaped(screw, shape),
        parent_thread_strip=_shaped(parent, shape),
        insert_thread_strip=_shaped(insert, shape),
        boss_wall=_shaped(boss, shape),
    )


def _strip_here(at: Columns, buffers: FloatArray, screw: FloatArray, parent: FloatArray) -> None:
    """Strip loads of screw and parent."""
    inner, ratio, x, y, length = buffers
    outer = screw  # the result's own memory serves until the result is due
    _area(at, "external_major", "internal_pitch_diameter", inner, strip_area_internal)
    _area(at, "internal_minor", "external_pitch_diameter", outer, strip_area_external)
    np.multiply(inner, at["parent_tensile"], out=ratio)
    np.multiply(outer, at["screw_tensile_min"], out=x)
    np.divide(ratio, x, out=ratio)

    _effective_length(at, "length", length)
    np.multiply(inner, length, out=parent)
    _scale(parent, at["parent_shear"])
    _scale(parent, _capped_internal(ratio, x, y))
    if "screw_length" in at:
        _effective_length(at, "screw_length", length)
    np.multiply(outer, length, out=screw)
    _scale(screw, at["screw_shear"])
    _scale(screw, _capped_external(ratio, y))


def _half(at: Columns, buffer: FloatArray) -> Column:
    """Half a pitch of thickness as a rise on diameter: P / (2 tan)."""
    pitch, tangent = at["pitch"], at["tan_half_angle"]
    if isinstance(pitch, float) and isinstance(tangent, float):
        return pitch / (2 * tangent)
    np.divide(pitch, tangent, out=buffer)
    return np.multiply(buffer, 0.5, out=buffer)


def _slope(at: Columns) -> Column:
    """Pi times the tangent of half the flank angle over the pitch."""
    return math.pi / 2 / at["half"]


def _area(
    at: Columns, cylinder: str, pitch_line: str, out: FloatArray, checked: Callable[..., Floats]
) -> None:
    """Shear area per length and slope; `checked` says what is wrong where something is."""
    internal = checked is strip_area_internal
    first, second = (cylinder, pitch_line) if internal else (pitch_line, cylinder)
    half = at["half"]
    np.subtract(at[first], at[second], out=out)
    np.add(out, half, out=out)
    most = 2 * (half if isinstance(half, float) else half.min())
    if not (out.min() > 0 and out.max() <= most):
        checked(1.0, at["pitch"], at[cylinder], at[pitch_line], tan_half_angle=at["tan_half_angle"])
    np.multiply(out, at[cylinder], out=out)


def _effective_length(at: Columns, name: str, out: FloatArray) -> None:
    """Length times slope times wall factor."""
    np.multiply(at[name], at["slope"], out=out)
    _scale(out, at["wall"])


@cache
def _leaves_cap(internal: bool) -> float:
    """Strength ratio at which C3 (internal) or C2 passes 1, by bisection."""
    factor: Callable[[float], Floats] = (
        internal_bending_factor if internal else external_bending_factor
    )
    low, high = (0.5, 1.0) if internal else (1.0 + 1e-9, 2.0)
    for _ in range(60):
        middle = (low + high) / 2
        if (factor(middle) > 1) == internal:
            low = middle
        else:
            high = middle
    return low


def _capped_internal(ratio: FloatArray, x: FloatArray, y: FloatArray) -> Column:
    """C3, at most 1."""
    leaves = _leaves_cap(True)
    if ratio.max() <= leaves:
        return 1.0
    np.clip(ratio, leaves, 1.0, out=x)
    return _curve(x, INTERNAL_CURVE, y)


def _capped_external(ratio: FloatArray, out: FloatArray) -> Column:
    """C2, at most 1: a constant but for parents that are the stronger member."""
    stronger = np.flatnonzero(~(ratio <= 1))  # NaN among them
    if not stronger.size:
        return FACTOR_STRONGER
    x = np.clip(ratio[stronger], 1.0, _leaves_cap(False))
    out.fill(FACTOR_STRONGER)
    out[stronger] = _curve(x, EXTERNAL_CURVE, np.empty_like(x))
    return out


def _curve(x: FloatArray, coefficients: tuple[float, ...], out: FloatArray) -> FloatArray:
    *rest, highest = coefficients
    np.multiply(x, highest, out=out)
    for coefficient in rest[:0:-1]:
        np.add(out, coefficient, out=out)
        np.multiply(out, x, out=out)
    return np.add(out, rest[0], out=out)


def _wall(inputs: ModeInputs) -> float | None:
    """Wall factor where one holds for all joints, else None."""
    hole, other = inputs.hole, inputs.wall_factor
    unknown = bool(np.isnan(hole.boss_diameter).all())
    sizes = [hole.boss_diameter.size, 1 if unknown else hole.hole_major_basic.size]
    if max(sizes) > 1 or (other is not None and other.size > 1):
        return None
    lowest = 1.0 if unknown else float(np.ravel(wall_factor_used(hole, None))[0])
    return lowest if other is None else float(np.fmin(lowest, np.ravel(other)[0]))


def _wall_here(at: Columns, out: FloatArray) -> FloatArray:
    """C1, the lower of it and the wall factor given, NaN below the range of C1."""
    s, D = at["boss_diameter"], at["hole_major_basic"]
    np.multiply(s, 1 / D, out=out) if isinstance(D, float) else np.divide(s, D, out=out)
    thin = None if out.min() >= BOSS_RATIO_MIN else out < BOSS_RATIO_MIN * (1 - 1e-12)
    np.subtract(BOSS_RATIO_FULL, out, out=out)
    # NaN is a boss of unknown size, which counts as thick
    np.maximum(out, 0.0, out=out) if thin is None else np.fmax(out, 0.0, out=out)
    np.square(out, out=out)
    np.subtract(1.0, out, out=out)
    if thin is not None:
        out[thin] = np.nan
    if "wall_factor" in at:
        np.fmin(out, at["wall_factor"], out=out)
    return out


def _insert_here(at: Columns, length: FloatArray, out: FloatArray) -> None:
    """Strip load of the thread inside the insert."""
    _area(at, "screw_major", "insert_pitch_diameter", out, strip_area_internal)
    np.multiply(at.get("screw_length", at["length"]), at["slope"], out=length)
    np.multiply(out, length, out=out)
    _scale(out, at["wire_shear"])


def _boss_here(at: Columns, buffers: FloatArray, out: FloatArray) -> None:
    """Load of the boss wall: the lower of net and hoop section."""
    wall, x = buffers[:2]
    s, D, tangent = at["boss_diameter"], at["hole_major_basic"], at["tan_half_angle"]
    np.subtract(s, D, out=wall)
    least = wall.min()
    if not least > 0 and np.any(wall <= 0):
        raise GeometryError(
            "boss_diameter must exceed the hole's major diameter, got one "
            f"{-np.nanmin(wall):g} mm below it"
        )
    np.multiply(at["length"], 4 / tangent, out=x)
    np.add(s, D, out=out)
    np.minimum(out, x, out=out)
    np.multiply(out, wall, out=out)
    _scale(out, math.pi / 4 * at["boss_wall_factor"] * at["flow_stress"])
    if math.isnan(least):
        out[np.isnan(s)] = np.inf


def _columns(inputs: ModeInputs) -> Columns:
    """Every number that enters, one-dimensional, or a float where all joints share it."""
    hole, shape = inputs.hole, inputs.shape
    of_hole = (
        "length", "pitch", "external_major", "external_pitch_diameter", "internal_minor",
        "internal_pitch_diameter", "hole_major_basic", "parent_shear", "parent_tensile",
        "screw_tensile_min", "screw_tensile_max", "screw_shear", "stress_area",
        "boss_diameter", "tan_half_angle",
    )  # fmt: skip
    of_joint = (
        "screw_major", "insert_pitch_diameter", "wire_shear", "flow_stress", "boss_wall_factor",
    )  # fmt: skip
    values = {name: getattr(hole, name) for name in of_hole}
    values |= {name: getattr(inputs, name) for name in of_joint}
    if hole.screw_length is not hole.length:
        values["screw_length"] = hole.screw_length
    if inputs.wall_factor is not None:
        values["wall_factor"] = inputs.wall_factor
    return {
        name: float(value.reshape(())[()])
        if value.size == 1
        else np.broadcast_to(value, shape).reshape(-1)
        for name, value in values.items()
    }


def _is_nan(value: Column) -> bool:
    return isinstance(value, float) and math.isnan(value)


def _scale(array: FloatArray, factor: Column) -> None:
    if not isinstance(factor, float) or factor != 1.0:
        np.multiply(array, factor, out=array)


def _shaped(value: Column, shape: tuple[int, ...]) -> Floats:
    """Give a column the shape of the inputs; a shared number takes no memory."""
    if isinstance(value, float):
        return np.broadcast_to(np.float64(value), shape)[()]
    return value.reshape(shape)[()]
