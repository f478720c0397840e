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
    dilation_factor,
    external_bending_factor,
    internal_bending_factor,
)
from .modes import ModeInputs, ModeSet
from .primary import capped_external_factor, capped_internal_factor

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
    # one block for all loads: the allocator hands it out again without fresh pages
    loads = np.empty((4, count))
    scratch = np.empty((9, min(count, CHUNK)))
    for start in range(0, count, CHUNK):
        part = slice(start, min(start + CHUNK, count))
        at = {k: v if isinstance(v, float) else v[part] for k, v in columns.items()}
        _evaluate(at, scratch[:, : part.stop - start], loads[:, part])
    screw, parent, insert, boss = (row.reshape(shape)[()] for row in loads)
    nothing = np.broadcast_to(np.float64(np.inf), shape)[()]
    tension = [
        np.broadcast_to(columns["stress_area"] * columns[name], count).reshape(shape)[()]
        for name in ("screw_tensile_min", "screw_tensile_max")
    ]
    return ModeSet(
        screw_tension=tension[0],
        screw_tension_max=tension[1],
        screw_thread_strip=screw,
        parent_thread_strip=parent,
        insert_thread_strip=insert if inputs.hole.state == "repaired" else nothing,
        boss_wall=nothing if _is_nan(columns["boss_diameter"]) else boss,
    )


def _do(ufunc: np.ufunc, a: Column, b: Column, out: FloatArray) -> Column:
    """Operate in place, or on two shared numbers without touching the array."""
    if isinstance(a, float) and isinstance(b, float):
        return float(ufunc(a, b))
    result: FloatArray = ufunc(a, b, out=out)
    return result


def _product(out: FloatArray, *factors: Column) -> None:
    """Write the product of all factors, the shared numbers multiplied first."""
    shared = math.prod(f for f in factors if isinstance(f, float))
    arrays = [f for f in factors if not isinstance(f, float)]
    if not arrays:
        out.fill(shared)
        return
    first, *rest = arrays
    if shared != 1.0 or not rest:
        np.multiply(first, shared, out=out)
    else:
        np.multiply(first, rest.pop(), out=out)
    for factor in rest:
        np.multiply(out, factor, out=out)


def _evaluate(at: Columns, scratch: FloatArray, loads: FloatArray) -> None:
    """Write the loads of one chunk."""
    inner_row, ratio_row, half_row, slope_row, length_row, wall_row, x, y, z = scratch
    screw, parent, insert, boss = loads
    half = _do(np.divide, at["pitch"], _do(np.multiply, at["tan_half_angle"], 2.0, x), half_row)
    slope = _do(np.divide, math.pi / 2, half, slope_row)

    depth = 2 * float(np.min(half))  # of the shallowest thread from edge to edge

    inner = _area(
        at, half, depth, "external_major", "internal_pitch_diameter", inner_row, strip_area_internal
    )
    # the memory of a result serves until the result is due
    outer = _area(
        at, half, depth, "internal_minor", "external_pitch_diameter", screw, strip_area_external
    )
    ratio = _do(
        np.divide,
        _do(np.multiply, inner, at["parent_tensile"], x),
        _do(np.multiply, outer, at["screw_tensile_min"], y),
        ratio_row,
    )
    wall = _wall(at, wall_row)
    length = _do(np.multiply, at["length"], slope, length_row)
    screw_length = length
    if "screw_length" in at:
        screw_length = _do(np.multiply, at["screw_length"], slope, slope_row)
    both = _do(np.multiply, length, wall, x)
    _product(parent, inner, both, at["parent_shear"], _capped_internal(ratio, y, z))
    if screw_length is not length:
        both = _do(np.multiply, screw_length, wall, x)
    _product(screw, outer, both, at["screw_shear"], _capped_external(ratio, y))
    if "wire_shear" in at:
        solid = _area(
            at, half, depth, "screw_major", "insert_pitch_diameter", x, strip_area_internal
        )
        _product(insert, solid, screw_length, at["wire_shear"])
    if not _is_nan(at["boss_diameter"]):
        _boss(at, x, y, boss)


def _area(
    at: Columns,
    half: Column,
    depth: float,
    cylinder: str,
    pitch_line: str,
    out: FloatArray,
    checked: Callable[..., Floats],
) -> Column:
    """Shear area per length and slope; `checked` says what is wrong where something is."""
    internal = checked is strip_area_internal
    first, second = (cylinder, pitch_line) if internal else (pitch_line, cylinder)
    rise = _do(np.add, _do(np.subtract, at[first], at[second], out), half, out)
    if not (np.min(rise) > 0 and np.max(rise) <= depth):
        checked(1.0, at["pitch"], at[cylinder], at[pitch_line], tan_half_angle=at["tan_half_angle"])
    return _do(np.multiply, rise, at[cylinder], out)


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


def _capped_internal(ratio: Column, x: FloatArray, y: FloatArray) -> Column:
    """C3, at most 1."""
    if isinstance(ratio, float):
        return float(capped_internal_factor(ratio))
    leaves = _leaves_cap(True)
    if ratio.max() <= leaves:
        return 1.0
    np.clip(ratio, leaves, 1.0, out=x)
    return _curve(x, INTERNAL_CURVE, y)


def _capped_external(ratio: Column, out: FloatArray) -> Column:
    """C2, at most 1: a constant but for parents that are the stronger member."""
    if isinstance(ratio, float):
        return float(capped_external_factor(ratio))
    if ratio.max() <= 1:
        return FACTOR_STRONGER
    stronger = np.flatnonzero(~(ratio <= 1))  # NaN among them
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


def _wall(at: Columns, out: FloatArray) -> Column:
    """C1, the lower of it and the wall factor given, NaN below the range of C1."""
    s, D = at["boss_diameter"], at["hole_major_basic"]
    factor: Column
    if isinstance(s, float) and (isinstance(D, float) or math.isnan(s)):
        factor = 1.0 if math.isnan(s) else float(dilation_factor(s, D))
    else:
        factor = _dilation(s, D, out)
    return _do(np.fmin, factor, at["wall_factor"], out) if "wall_factor" in at else factor


def _dilation(s: Column, D: Column, out: FloatArray) -> FloatArray:
    np.divide(s, D, out=out)
    least = out.min()
    if least >= BOSS_RATIO_FULL:
        out.fill(1.0)
        return out
    thin = None if least >= BOSS_RATIO_MIN else out < BOSS_RATIO_MIN * (1 - 1e-12)
    np.subtract(BOSS_RATIO_FULL, out, out=out)
    # NaN is a boss of unknown size, which counts as thick
    larger = np.maximum if thin is None else np.fmax
    larger(out, 0.0, out=out)
    np.square(out, out=out)
    np.subtract(1.0, out, out=out)
    if thin is not None:
        out[thin] = np.nan
    return out


def _boss(at: Columns, x: FloatArray, y: FloatArray, out: FloatArray) -> None:
    """Load of the boss wall: the lower of net and hoop section."""
    s, D = at["boss_diameter"], at["hole_major_basic"]
    wall = _do(np.subtract, s, D, x)
    least = np.min(wall)
    if not least > 0 and np.any(np.less_equal(wall, 0)):
        raise GeometryError(
            "boss_diameter must exceed the hole's major diameter, got one "
            f"{-np.nanmin(wall):g} mm below it"
        )
    hoop = _do(np.divide, _do(np.multiply, at["length"], 4.0, y), at["tan_half_angle"], y)
    section = _do(np.minimum, _do(np.add, s, D, out), hoop, out)
    _product(out, section, wall, math.pi / 4, at["flow_stress"], at["boss_wall_factor"])
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
    of_joint = ["flow_stress", "boss_wall_factor"]
    if hole.state == "repaired":
        of_joint += ["screw_major", "insert_pitch_diameter", "wire_shear"]
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
