"""What do a million joints hold: the primary model in chunks that stay in the cache.

The formulas are those of `primary` and `modes`, rearranged: numbers shared by all joints are
folded together once, the shear areas are per length and carry the factor pi, the capped bending
factors are their curves between the ratios where they leave the caps. Tests compare the two.
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
    FACTOR_STRONGER,
    external_bending_factor,
    internal_bending_factor,
)
from .modes import ModeInputs, ModeSet
from .primary import wall_factor_used

#: Joints a pass: five buffers of this length fit the second-level cache.
CHUNK = 16384

#: A number shared by all joints, or one value for each.
Column: TypeAlias = float | FloatArray


@cache
def _leaves_cap(internal: bool) -> float:
    """Strength ratio at which C3 (internal) or C2 passes 1."""
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
    return (low + high) / 2


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
    columns = _columns(inputs)
    count = math.prod(shape)
    screw, parent = np.empty(count), np.empty(count)
    insert: Column = np.empty(count) if inputs.hole.state == "repaired" else math.inf
    wall, boss = _wall(inputs), columns["boss_diameter"]
    boss_load: Column = math.inf if _is_nan(boss) else np.empty(count)
    tension = [
        _times(columns["stress_area"], columns[name])
        for name in ("screw_tensile_min", "screw_tensile_max")
    ]
    scratch = np.empty((6, min(count, CHUNK)))
    for start in range(0, count, CHUNK):
        part = slice(start, min(start + CHUNK, count))
        here = {
            name: value if isinstance(value, float) else value[part]
            for name, value in columns.items()
        }
        buffers = scratch[:, : part.stop - start]
        factor = wall if wall is not None else _wall_here(here, buffers[5])
        _strip_here(here, factor, buffers, screw[part], parent[part])
        if not isinstance(insert, float):
            _insert_here(here, buffers, insert[part])
        if not isinstance(boss_load, float):
            _boss_here(here, buffers, boss_load[part])
    return ModeSet(
        screw_tension=_shaped(tension[0], shape),
        screw_tension_max=_shaped(tension[1], shape),
        screw_thread_strip=_shaped(screw, shape),
        parent_thread_strip=_shaped(parent, shape),
        insert_thread_strip=_shaped(insert, shape),
        boss_wall=_shaped(boss_load, shape),
    )


def _strip_here(
    at: dict[str, Column], wall: Column, buffers: FloatArray, screw: FloatArray, parent: FloatArray
) -> None:
    """Strip loads of screw and parent."""
    inner, outer, ratio, x, y, _ = buffers
    slope = _slope(at, y)
    _area(at, "external_major", "internal_pitch_diameter", slope, inner, strip_area_internal)
    _area(at, "internal_minor", "external_pitch_diameter", slope, outer, strip_area_external)

    np.multiply(inner, at["parent_tensile"], out=ratio)
    np.multiply(outer, at["screw_tensile_min"], out=x)
    np.divide(ratio, x, out=ratio)

    np.multiply(inner, at["length"], out=parent)
    _scale(parent, at["parent_shear"])
    _scale(parent, _capped_internal(ratio, x, y))
    _scale(parent, wall)
    np.multiply(outer, at["screw_length"], out=screw)
    _scale(screw, at["screw_shear"])
    _scale(screw, _capped_external(ratio, x, y))
    _scale(screw, wall)


def _slope(at: dict[str, Column], buffer: FloatArray) -> Column:
    """Pi times the tangent of half the flank angle over the pitch."""
    tangent, pitch = at["tan_half_angle"], at["pitch"]
    if isinstance(tangent, float):
        if isinstance(pitch, float):
            return math.pi * tangent / pitch
        return np.divide(math.pi * tangent, pitch, out=buffer)
    np.multiply(tangent, math.pi, out=buffer)
    return np.divide(buffer, pitch, out=buffer)


def _area(
    at: dict[str, Column],
    cylinder: str,
    pitch_line: str,
    slope: Column,
    out: FloatArray,
    checked: Callable[..., Floats],
) -> None:
    """Shear area per length on a cylinder; `checked` names what is wrong where it is."""
    internal = checked is strip_area_internal
    first, second = (cylinder, pitch_line) if internal else (pitch_line, cylinder)
    np.subtract(at[first], at[second], out=out)
    np.multiply(out, slope, out=out)
    np.add(out, math.pi / 2, out=out)
    if not (out.min() > 0 and out.max() <= math.pi):
        checked(1.0, at["pitch"], at[cylinder], at[pitch_line], tan_half_angle=at["tan_half_angle"])
    np.multiply(out, at[cylinder], out=out)


def _capped_internal(ratio: FloatArray, x: FloatArray, y: FloatArray) -> Column:
    leaves = _leaves_cap(True)
    if ratio.max() <= leaves:
        return 1.0
    np.clip(ratio, leaves, 1.0, out=x)
    np.multiply(x, 1.296, out=y)
    for coefficient in (-2.896, 1.769):
        np.add(y, coefficient, out=y)
        np.multiply(y, x, out=y)
    return np.add(y, 0.728, out=y)


def _capped_external(ratio: FloatArray, x: FloatArray, y: FloatArray) -> Column:
    if ratio.max() <= 1:
        return FACTOR_STRONGER
    np.clip(ratio, 1.0, _leaves_cap(False), out=x)
    np.multiply(x, 0.9353, out=y)
    for coefficient in (-6.057, 14.107, -13.682):
        np.add(y, coefficient, out=y)
        np.multiply(y, x, out=y)
    np.add(y, 5.594, out=y)
    # the curve starts a little above the constant it continues
    np.multiply(ratio <= 1, external_bending_factor(1 + 1e-15) - FACTOR_STRONGER, out=x)
    return np.subtract(y, x, out=y)


def _wall(inputs: ModeInputs) -> float | None:
    """Wall factor where one holds for all joints, else None."""
    hole, other = inputs.hole, inputs.wall_factor
    unknown = bool(np.isnan(hole.boss_diameter).all())
    sizes = [hole.boss_diameter.size, 1 if unknown else hole.hole_major_basic.size]
    if max(sizes) > 1 or (other is not None and other.size > 1):
        return None
    lowest = 1.0 if unknown else float(np.ravel(wall_factor_used(hole, None))[0])
    return lowest if other is None else float(np.fmin(lowest, np.ravel(other)[0]))


def _wall_here(at: dict[str, Column], out: FloatArray) -> FloatArray:
    """C1, the lower of it and the wall factor given, NaN below the range of C1."""
    np.divide(at["boss_diameter"], at["hole_major_basic"], out=out)
    thin = out < BOSS_RATIO_MIN * (1 - 1e-12)
    np.fmin(out, BOSS_RATIO_FULL, out=out)  # an unknown boss counts as thick
    np.multiply(3.8 - out, out, out=out)
    np.subtract(out, 2.61, out=out)
    if thin.any():
        out[thin] = np.nan
    if "wall_factor" in at:
        np.fmin(out, at["wall_factor"], out=out)
    return out


def _insert_here(at: dict[str, Column], buffers: FloatArray, out: FloatArray) -> None:
    slope = _slope(at, buffers[4])
    _area(at, "screw_major", "insert_pitch_diameter", slope, out, strip_area_internal)
    _scale(out, at["screw_length"])
    _scale(out, at["wire_shear"])


def _boss_here(at: dict[str, Column], buffers: FloatArray, out: FloatArray) -> None:
    x, y = buffers[:2]
    s, D = at["boss_diameter"], at["hole_major_basic"]
    np.subtract(s, D, out=x)
    if x.min() <= 0 or (np.isnan(x.min()) and np.any(x <= 0)):
        raise GeometryError(
            "boss_diameter must exceed the hole's major diameter, got one "
            f"{-np.nanmin(x):g} mm below it"
        )
    np.add(s, D, out=out)
    np.multiply(at["length"], 4.0, out=y)
    np.divide(y, at["tan_half_angle"], out=y)
    np.minimum(out, y, out=out)
    np.multiply(out, x, out=out)
    _scale(out, at["flow_stress"])
    factor = at["boss_wall_factor"]
    _scale(out, math.pi / 4 * factor)
    unknown = np.isnan(s)
    if unknown.any():
        out[unknown] = np.inf


def _columns(inputs: ModeInputs) -> dict[str, Column]:
    hole, shape = inputs.hole, inputs.shape
    values = {
        name: getattr(hole, name)
        for name in (
            "length", "screw_length", "pitch", "external_major", "external_pitch_diameter",
            "internal_minor", "internal_pitch_diameter", "hole_major_basic", "parent_shear",
            "parent_tensile", "screw_tensile_min", "screw_tensile_max", "screw_shear",
            "stress_area", "boss_diameter", "tan_half_angle",
        )
    } | {
        name: getattr(inputs, name)
        for name in (
            "screw_major", "insert_pitch_diameter", "wire_shear", "flow_stress",
            "boss_wall_factor",
        )
    }  # fmt: skip
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


def _times(a: Column, b: Column) -> Column:
    return a * b


def _scale(array: FloatArray, factor: Column) -> None:
    if not isinstance(factor, float) or factor != 1.0:
        np.multiply(array, factor, out=array)


def _shaped(value: Column, shape: tuple[int, ...]) -> Floats:
    """Give a column the shape of the inputs; a shared number takes no memory."""
    if isinstance(value, float):
        return np.broadcast_to(np.float64(value), shape)[()]
    return value.reshape(shape)[()]
