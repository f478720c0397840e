"""How much of its strength does a parent keep at the temperature of the joint.

Two kinds of table exist and are never mixed. A "long" one is for service: strength after
10 000 hours at temperature. A "short" one is for fire: up to 2 hours, after which the part is not
expected to serve again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import FloatArray, Floats
from ..errors import DataError, InputError, ValidityError, unknown
from ..sources import Reference
from ..tables import constant, reference, rows
from .parents import Parent, shear_strength
from .values import convert, find

#: What each kind of table means, for messages and reports.
EXPOSURES: Mapping[str, str] = MappingProxyType(
    {"long": "10 000 hours at temperature", "short": "up to 2 hours, as in a fire"}
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrengthTable:
    """What an alloy and temper keeps of its room-temperature strength.

    `temperatures` in degC, rising; `factors` of the `property` that the source tabulates.
    """

    material: str
    exposure: str
    property: str
    temperatures: FloatArray
    factors: FloatArray
    reference: Reference


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReducedStrength:
    """Strengths of a parent at temperature, MPa; each has the shape of `temperature`.

    `factor` is that of the tensile and shear strengths. `yield_` is NaN where the parent has no
    yield strength, or where its alloy has no table of it at that exposure. `note` says what the
    factor was tabled for and applied to.
    """

    exposure: str
    temperature: Floats
    factor: Floats
    tensile: Floats
    yield_: Floats
    shear: Floats
    note: str
    references: tuple[Reference, ...]


def at_temperature(
    parent: Parent,
    temperature: ArrayLike,
    *,
    exposure: str = "long",
    casting_factor: ArrayLike = 1.0,
) -> ReducedStrength:
    """Return the strengths of a parent at temperature, by its table and nothing else.

    Parameters
    ----------
    parent : Parent
    temperature : array_like, degC
    exposure : "long" or "short"
        Service (10 000 hours) or fire (up to 2 hours).
    casting_factor : array_like
        As for `shear_strength`; broadcast against the temperature. The tensile and yield
        strengths take it too.

    Raises
    ------
    InputError
        For an unknown exposure or a temperature that is not a number.
    ValidityError
        For a temperature outside the table, or outside room temperature where there is no
        table. Nothing is extrapolated.

    Notes
    -----
    Room temperature is 10 to 35 degC, the band within which ISO 6892-1 lets the tabled strengths
    be measured: there every parent has its full strength. Between the printed temperatures the
    factor is linear. The long-term tables give the tensile strength, and the shear strength is
    taken to fall with it; the short-term ones give the 0.2 % proof strength only, and the
    tensile and shear strengths are taken to fall with it.

    A parent whose strengths were measured hot (`with_measured`) has them at that temperature and
    at any lower one down to room temperature, whatever its table says.

    Examples
    --------
    >>> from .parents import parent
    >>> hot = at_temperature(parent("6061-T6"), [20, 100])
    >>> [round(float(factor), 3) for factor in hot.factor]
    [1.0, 0.933]
    """
    if exposure not in EXPOSURES:
        raise unknown("exposure", exposure, EXPOSURES)
    celsius = np.asarray(temperature, dtype=np.float64)
    if not np.all(np.isfinite(celsius)):
        raise InputError("temperature must be a number of degC")
    factor, yield_factor, references, note = _factors(parent, celsius, exposure)
    room = shear_strength(parent, casting_factor=casting_factor)
    strengths = (find(parent.values, name) for name in ("tensile", "yield"))
    own = tuple(value.reference for value in strengths if value is not None)
    return ReducedStrength(
        exposure=exposure,
        temperature=celsius[()],
        factor=factor[()],
        tensile=(parent.tensile * factor * room.casting_factor)[()],
        yield_=(parent.yield_ * yield_factor * room.casting_factor)[()],
        shear=(room.value * factor)[()],
        note=note,
        references=tuple(dict.fromkeys((*own, *room.references, *references))),
    )


def temperature_range(parent: Parent, exposure: str = "long") -> tuple[float, float]:
    """Return the lowest and highest temperature that `at_temperature` answers for, degC."""
    low, high = _room()
    if parent.measured_at > high:
        return low, parent.measured_at
    table = strength_table(parent, exposure)
    return (low, high) if table is None else (low, max(high, float(table.temperatures[-1])))


def strength_table(parent: Parent, exposure: str) -> StrengthTable | None:
    """Return the table that the tensile and shear strengths of a parent follow, or None.

    That of the tensile strength of its alloy and temper, failing that of the proof strength.
    """
    tables, alloy = strength_tables(), parent.temperature_table
    return tables.get((alloy, exposure, "tensile")) or tables.get((alloy, exposure, "yield"))


@cache
def strength_tables() -> Mapping[tuple[str, str, str], StrengthTable]:
    """Return every table, by alloy and temper, exposure and property."""
    found: dict[tuple[str, str, str], list[Mapping[str, str]]] = {}
    for row in rows("temperature.csv"):
        found.setdefault((row["material"], row["exposure"], row["property"]), []).append(row)
    return MappingProxyType({key: _table(key, each) for key, each in found.items()})


def _table(key: tuple[str, str, str], lines: list[Mapping[str, str]]) -> StrengthTable:
    material, exposure, name = key
    temperatures = np.array([convert(x["temperature"], x["temperature_unit"]) for x in lines])
    values = np.array([convert(x["value"], x["unit"]) for x in lines])
    places = {(x["source"], x["clause"], x["how_known"]) for x in lines}
    if np.any(np.diff(temperatures) <= 0) or len(places) != 1:
        raise DataError(f"temperature.csv: the {exposure} table of {material} is not one table")
    factors = values / values[0]
    for array in (temperatures, factors):
        array.flags.writeable = False
    what = f"{material}: {name} strength at temperature, {exposure} term"
    return StrengthTable(
        material=material,
        exposure=exposure,
        property=name,
        temperatures=temperatures,
        factors=factors,
        reference=reference(lines[0], what),
    )


def _room() -> tuple[float, float]:
    low, high = constant("room_temperature_min"), constant("room_temperature_max")
    return low.value, high.value


def _factors(
    parent: Parent, celsius: FloatArray, exposure: str
) -> tuple[FloatArray, FloatArray, tuple[Reference, ...], str]:
    """Return the factors of tensile and of yield strength, the tables' references and a note."""
    low, high = _room()
    one = np.ones_like(celsius)
    if np.all((celsius >= low) & (celsius <= high)):
        # The tables start at 20 or 24 degC: within room temperature no alloy is reduced.
        return one, one, (), "room temperature"
    table = strength_table(parent, exposure)
    _, highest = temperature_range(parent, exposure)
    outside = (celsius < low) | (celsius > highest)
    if np.any(outside):
        worst = float(celsius[outside][0])
        raise ValidityError(_refusal(parent, table, worst, exposure, low, highest))
    if parent.measured_at > high:
        # The tabled yield strength is one of room temperature.
        return one, np.full_like(celsius, np.nan), (), f"measured at {parent.measured_at:g} °C"
    assert table is not None  # without a table the highest is that of the room
    proof = strength_tables().get((table.material, exposure, "yield"))
    hot = np.interp(celsius, table.temperatures, table.factors)
    hot_yield = (
        np.full_like(celsius, np.nan)
        if proof is None
        else np.interp(celsius, proof.temperatures, proof.factors)
    )
    at_room = celsius <= high
    both = (table.reference,) if proof is None else (proof.reference, table.reference)
    return (
        np.where(at_room, 1.0, hot),
        np.where(at_room, 1.0, hot_yield),
        tuple(dict.fromkeys(both)),
        _note(table),
    )


def _refusal(
    parent: Parent,
    table: StrengthTable | None,
    celsius: float,
    exposure: str,
    low: float,
    highest: float,
) -> str:
    if parent.measured_at == highest:
        why = f"the strengths given were measured at {highest:g} degC"
    elif table is None:
        why = f"no {exposure}-term table for {parent.id}"
        others = [x for x in EXPOSURES if strength_table(parent, x) is not None]
        if others:
            meaning = EXPOSURES[others[0]]
            why += f" (its {others[0]}-term table, {meaning}, must not be used instead)"
    else:
        why = f"the {exposure}-term table of {table.material} ({table.reference.source}) ends there"
    return (
        f"temperature: {celsius:g} degC is outside {low:g} to {highest:g} degC: {why}; give "
        "parent_shear_strength and parent_tensile_strength measured at that temperature"
    )


def _note(table: StrengthTable) -> str:
    others = "shear" if table.property == "tensile" else "tensile and shear"
    name = "tensile" if table.property == "tensile" else "0.2 % proof"
    return (
        f"factor of the {name} strength of {table.material}, {EXPOSURES[table.exposure]}; "
        f"the {others} strength is taken to fall with it"
    )
