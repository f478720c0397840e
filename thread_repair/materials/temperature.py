"""How much of its strength does a parent keep at the temperature of the joint.

Two kinds of table exist and are never mixed. A "long" one is for service: strength after
10 000 hours at temperature. A "short" one is for fire: up to 2 hours, after which the part is not
expected to serve again.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from .. import files
from ..arrays import FloatArray, Floats, finite, plain, read_only
from ..errors import InputError, ValidityError, check_known, message
from ..tables import Reference, constant, reference, rows
from .parents import Parent, shear_strength
from .values import convert

#: What each kind of table means, for messages and reports.
EXPOSURES: Mapping[str, str] = files.data("tables.toml")["exposures"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrengthTable:
    """What an alloy and temper keeps of its room-temperature strength.

    `temperatures` in degC, rising; `factors` of the `property` that the source tabulates.
    """

    material: str
    temperatures: FloatArray
    factors: FloatArray
    reference: Reference


class Heat(NamedTuple):
    """What temperature leaves of one strength, and the table that says so, if any."""

    factor: Floats
    references: tuple[Reference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReducedStrength:
    """Strengths of a parent at temperature, MPa; each has the shape of `temperature`.

    `heat` has the factor of "tensile", "yield" and "shear". `yield_` is NaN where the parent has
    no yield strength, or where its alloy has no table of it at that exposure.
    """

    tensile: Floats
    yield_: Floats
    shear: Floats
    heat: Mapping[str, Heat]


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

    Returns
    -------
    ReducedStrength

    Raises
    ------
    InputError
        For an unknown exposure or a temperature that is not a number.
    ValidityError
        For a temperature outside the table, or outside room temperature where there is no
        table, and from that on at which the metal melts. Nothing is extrapolated.

    Notes
    -----
    Room temperature is 10 to 35 degC, the band within which ISO 6892-1 lets the tabled strengths
    be measured: there every parent has its full strength. Between the printed temperatures the
    factor is linear. The long-term tables give the tensile strength, and the shear strength is
    taken to fall with it; the short-term ones give the 0.2 % proof strength only, and the
    tensile and shear strengths are taken to fall with it.

    A strength that was measured hot (`with_measured`) holds at that temperature and at any lower
    one down to room temperature, whatever a table says; one measured cold at that temperature
    alone. A strength that was not measured follows its table.

    Examples
    --------
    >>> from .designations import parent
    >>> hot = at_temperature(parent("6061-T6"), [20, 100])
    >>> [round(float(factor), 3) for factor in hot.heat["shear"].factor]
    [1.0, 0.933]
    """
    check_known("exposure", exposure, EXPOSURES)
    (celsius,) = finite(temperature=temperature)
    if np.isnan(celsius).any():
        raise InputError("temperature must be a number of degC, got nan")
    hottest = {
        "temperature": celsius.max(initial=-np.inf),
        "parent_strength_temperature": parent.measured_at,
    }
    for key, each in hottest.items():
        if each >= parent.melts_at:
            raise ValidityError.of("not_solid", key=key, celsius=each, parent=parent)
    room = shear_strength(parent, casting_factor=casting_factor)
    # A shear strength that follows from the tensile strength falls as that does.
    base = "tensile" if room.derived else "shear"
    heat = {
        "tensile": _heat(parent, "tensile", celsius, exposure),
        "yield": _heat(parent, "yield", celsius, exposure),
        "shear": _heat(parent, base, celsius, exposure),
    }
    return ReducedStrength(
        tensile=plain(parent.tensile * heat["tensile"].factor * room.casting_factor),
        yield_=plain(parent.yield_ * heat["yield"].factor * room.casting_factor),
        shear=plain(room.value * heat["shear"].factor),
        heat=heat,
    )


def strength_table(parent: Parent, exposure: str) -> StrengthTable | None:
    """Return the table that the tensile and shear strengths of a parent follow, or None.

    That of the tensile strength of its alloy and temper, failing that of the proof strength.

    Parameters
    ----------
    parent : Parent
    exposure : str

    Returns
    -------
    StrengthTable or None
    """
    tables, alloy = strength_tables(), parent.temperature_table
    return tables.get((alloy, exposure, "tensile")) or tables.get((alloy, exposure, "yield"))


@cache
def strength_tables() -> Mapping[tuple[str, str, str], StrengthTable]:
    """Return every table, by alloy and temper, exposure and property.

    Returns
    -------
    Mapping[tuple[str, str, str], StrengthTable]
    """
    found: dict[tuple[str, str, str], list[Mapping[str, str]]] = {}
    for row in rows("temperature.csv"):
        found.setdefault((row["material"], row["exposure"], row["property"]), []).append(row)
    return {key: _table(key, each) for key, each in found.items()}


def _table(key: tuple[str, str, str], lines: list[Mapping[str, str]]) -> StrengthTable:
    material, exposure, name = key
    temperatures = np.array([convert(x["temperature"], x["temperature_unit"]) for x in lines])
    values = np.array([convert(x["value"], x["unit"]) for x in lines])
    what = f"{material}: {name} strength at temperature, {exposure} term"
    return StrengthTable(
        material=material,
        temperatures=read_only(temperatures),
        factors=read_only(values / values[0]),
        reference=reference(lines[0], what),
    )


def _heat(parent: Parent, name: str, celsius: FloatArray, exposure: str) -> Heat:
    """Return what temperature leaves of one strength of a parent.

    NaN of a yield strength where nothing says it: no reason to refuse a joint.
    """
    low, room = (constant(f"room_temperature_{end}").value for end in ("min", "max"))
    high, given = room, parent.measured_at
    table = strength_table(parent, exposure)
    if name == "yield":
        table = strength_tables().get((parent.temperature_table, exposure, "yield"))
    factor = np.ones_like(celsius)
    references: tuple[Reference, ...] = ()
    if parent.is_supplied(name) and not low <= given <= room:
        # Measured at another than room temperature.
        low, high = min(low, given), given
    elif table is not None:
        high = max(room, float(table.temperatures[-1]))
        if (celsius > room).any():
            # Within room temperature, where the tables start, all of the strength is left.
            tabled = np.interp(celsius, table.temperatures, table.factors)
            factor, references = np.where(celsius <= room, 1.0, tabled), (table.reference,)
    outside = (celsius < low) | (celsius > high)
    if outside.any() and name != "yield":
        raise ValidityError(_refusal(parent, name, float(celsius[outside][0]), exposure, low, high))
    return Heat(np.where(outside, np.nan, factor)[()], references)


def _refusal(
    parent: Parent, name: str, celsius: float, exposure: str, low: float, highest: float
) -> str:
    table = strength_table(parent, exposure)
    if parent.measured_at == highest and parent.is_supplied(name):
        why = f"the strengths given were measured at {highest:g} degC"
    elif table is None:
        why = f"no {exposure}-term table for {parent.id}"
        others = [x for x in EXPOSURES if strength_table(parent, x) is not None]
        if others:
            meaning = EXPOSURES[others[0]]
            why += f" (its {others[0]}-term table, {meaning}, is no substitute)"
    else:
        why = f"the {exposure}-term table of {table.material} ({table.reference.source}) ends there"
    return message("outside_temperatures", celsius=celsius, low=low, highest=highest, why=why)
