"""What is the insert made of and coated with, how strong is it, and how hot may it get."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TypeVar

from ..arrays import number_above_zero
from ..errors import InputError, ValidityError, unknown
from ..tables import Reference, reference, rows
from .values import Described, folded, given, index, shear_ratio, stated, supplied, values_of

_GALVANIC_GROUP = given(
    "galvanic_group", "Group of the five-group rule, 1 (magnesium) to 5; NaN where it is silent."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire(Described):
    """An alloy that wire thread inserts are coiled from.

    `tensile` is NaN where no source at hand gives the strength of the drawn wire; use
    `wire_shear_strength`, which refuses such a wire.
    """

    name: str
    uns: str
    magnetic_note: str
    corrosion_note: str

    tensile = given("tensile", "Lowest tensile strength of the wire before coiling, MPa.")
    temperature_limit = given(
        "temperature_limit", "Highest temperature of use of the insert, degC."
    )
    galvanic_group = _GALVANIC_GROUP


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish(Described):
    """A coating of inserts, with its limit of temperature."""

    name: str
    note: str

    temperature_limit = given(
        "temperature_limit", "Highest temperature of use of the coating, degC; NaN without a limit."
    )
    galvanic_group = _GALVANIC_GROUP


M = TypeVar("M", Wire, Finish)


@dataclass(frozen=True, slots=True, kw_only=True)
class WireShearStrength:
    """Ultimate shear strength of insert wire, MPa: always tensile strength times a ratio."""

    value: float
    ratio: float
    references: tuple[Reference, ...]


def wire_shear_strength(
    wire: Wire, *, tensile: float | None = None, document: str = ""
) -> WireShearStrength:
    """Return the shear strength of the wire: its tensile strength times the lowest known ratio.

    Parameters
    ----------
    wire : Wire
    tensile : float, MPa, optional
        Of the drawn wire before coiling, where the engineer has it; else the table's.
    document : str, optional
        Where that stands: a certificate, a test report, a page.

    Returns
    -------
    WireShearStrength

    Raises
    ------
    ValidityError
        If no source gives the tensile strength of the wire.
    InputError
        If the engineer's strength has no document, or is not above zero.

    Examples
    --------
    >>> round(wire_shear_strength(wire("S30200")).value)
    598
    """
    chosen = shear_ratio("insert wire")
    if tensile is not None:
        if not document.strip():
            raise InputError("insert_wire_source must name the document of the wire's strength")
        number_above_zero(insert_wire_strength=tensile)
        place = supplied(document, wire.id, "tensile")
    elif math.isnan(wire.tensile):
        known = ", ".join(each.id for each in wires() if not math.isnan(each.tensile))
        raise ValidityError.of("no_wire_strength", wire=wire, known=known)
    else:
        tensile, place = wire.tensile, wire.reference("tensile")
    return WireShearStrength(
        value=tensile * chosen.ratio, ratio=chosen.ratio, references=(place, chosen.reference)
    )


def wire(name: str) -> Wire:
    """Return a wire by its id or another of its names, however written.

    Parameters
    ----------
    name : str

    Returns
    -------
    Wire

    Examples
    --------
    >>> wire("CuSn6").id
    'C51900'
    """
    return _found("wire", wires, "wires.csv", name)


def finish(name: str) -> Finish:
    """Return a finish by its id or another of its names, however written.

    Parameters
    ----------
    name : str

    Returns
    -------
    Finish

    Examples
    --------
    >>> round(finish("cadmium").temperature_limit)
    232
    """
    return _found("finish", finishes, "finishes.csv", name)


@cache
def wires() -> tuple[Wire, ...]:
    """Return every wire, in the order of the table.

    Returns
    -------
    tuple of Wire
    """
    return _read(Wire, "wires.csv", "wire_values.csv", "wire {}: material")


@cache
def finishes() -> tuple[Finish, ...]:
    """Return every finish, in the order of the table.

    Returns
    -------
    tuple of Finish
    """
    return _read(Finish, "finishes.csv", "finish_values.csv", "finish {}")


def _read(kind: type[M], table: str, values: str, what: str) -> tuple[M, ...]:
    return tuple(
        kind(
            **stated(kind, row),
            values=values_of(values).get(row["id"], ()),
            identity_reference=reference(row, what.format(row["id"])),
        )
        for row in rows(table)
    )


def _found(kind: str, known: Callable[[], tuple[M, ...]], table: str, name: str) -> M:
    found: M | None = _index(known, table).get(folded(name))
    if found is None:
        raise unknown(kind, name, [each.id for each in known()])
    return found


@cache
def _index(known: Callable[[], tuple[M, ...]], table: str) -> Mapping[str, M]:
    pairs = zip(known(), rows(table), strict=True)
    return index((f"{each.id};{row['aliases']}", each) for each, row in pairs)
