"""What is the insert made of and coated with, how strong is it, and how hot may it get."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from ..arrays import positive
from ..errors import InputError, ValidityError, unknown
from ..sources import Reference
from ..tables import reference, rows
from .ratios import shear_ratio
from .values import Value, folded, index, number, reference_of, values_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """An alloy that wire thread inserts are coiled from.

    `tensile` is NaN where no source at hand gives the strength of the drawn wire; use
    `wire_shear_strength`, which refuses such a wire.
    """

    id: str
    name: str
    uns: str
    magnetic_note: str
    corrosion_note: str
    values: tuple[Value, ...]
    identity_reference: Reference

    @property
    def tensile(self) -> float:
        """Lowest tensile strength of the wire before coiling, MPa; NaN where not known."""
        return number(self.values, "tensile")

    @property
    def temperature_limit(self) -> float:
        """Highest temperature of use of the insert, degC; NaN where not known."""
        return number(self.values, "temperature_limit")

    @property
    def galvanic_group(self) -> float:
        """Group of the five-group rule, 1 (magnesium) to 5; NaN where the rule is silent."""
        return number(self.values, "galvanic_group")

    @property
    def references(self) -> tuple[Reference, ...]:
        """Where every value of this wire comes from."""
        return (self.identity_reference, *(value.reference for value in self.values))

    def reference(self, name: str) -> Reference:
        """Return where one property comes from."""
        return reference_of(self.values, name, owner=f"wire {self.id}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """A coating of inserts, with its limit of temperature and its hazards."""

    id: str
    name: str
    note: str
    hazard: str
    values: tuple[Value, ...]
    identity_reference: Reference

    @property
    def temperature_limit(self) -> float:
        """Highest temperature of use of the coating, degC; NaN where there is none."""
        return number(self.values, "temperature_limit")

    @property
    def galvanic_group(self) -> float:
        """Group of the five-group rule, 1 (magnesium) to 5; NaN where the rule is silent."""
        return number(self.values, "galvanic_group")

    @property
    def references(self) -> tuple[Reference, ...]:
        """Where every value of this finish comes from."""
        return (self.identity_reference, *(value.reference for value in self.values))

    def reference(self, name: str) -> Reference:
        """Return where one property comes from."""
        return reference_of(self.values, name, owner=f"finish {self.id}")


@dataclass(frozen=True, slots=True, kw_only=True)
class WireShearStrength:
    """Ultimate shear strength of insert wire, MPa: always tensile strength times a ratio."""

    value: float
    ratio: float
    references: tuple[Reference, ...]


def wire_shear_strength(wire: Wire) -> WireShearStrength:
    """Return the shear strength of the wire: its tensile strength times the lowest known ratio.

    Parameters
    ----------
    wire : Wire

    Returns
    -------
    WireShearStrength

    Raises
    ------
    ValidityError
        If no source gives the tensile strength of the wire.

    Examples
    --------
    >>> round(wire_shear_strength(wire("S30200")).value)
    598
    """
    if math.isnan(wire.tensile):
        known = ", ".join(each.id for each in wires() if not math.isnan(each.tensile))
        raise ValidityError(
            f"wire {wire.id}: no source at hand gives the strength of the drawn wire, so the "
            f"insert's own thread cannot be checked; strengths are known for {known}, or give "
            "insert_wire_strength with insert_wire_source"
        )
    chosen = shear_ratio("insert wire")
    return WireShearStrength(
        value=wire.tensile * chosen.ratio,
        ratio=chosen.ratio,
        references=(wire.reference("tensile"), chosen.reference),
    )


def measured_wire_shear_strength(wire: Wire, *, tensile: float, document: str) -> WireShearStrength:
    """Return the shear strength of a wire whose tensile strength the engineer has in a document.

    Parameters
    ----------
    wire : Wire
    tensile : float, MPa
        Of the drawn wire before coiling.
    document : str
        A certificate, a test report, a page.

    Returns
    -------
    WireShearStrength

    Raises
    ------
    InputError
        Without a document, or for a strength that is not above zero.
    """
    if not document.strip():
        raise InputError("insert_wire_source must name the document of the wire's strength")
    positive(insert_wire_strength=tensile)
    chosen = shear_ratio("insert wire")
    return WireShearStrength(
        value=tensile * chosen.ratio,
        ratio=chosen.ratio,
        references=(
            Reference(
                source="engineer",
                clause=document,
                how_known="measured",
                what=f"{wire.id}: tensile",
            ),
            chosen.reference,
        ),
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
    try:
        return _wire_index()[folded(name)]
    except KeyError:
        raise unknown("wire", name, [each.id for each in wires()]) from None


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
    try:
        return _finish_index()[folded(name)]
    except KeyError:
        raise unknown("finish", name, [each.id for each in finishes()]) from None


@cache
def wires() -> tuple[Wire, ...]:
    """Return every wire, in the order of the table.

    Returns
    -------
    tuple of Wire
    """
    return tuple(
        Wire(
            id=row["id"],
            name=row["name"],
            uns=row["uns"],
            magnetic_note=row["magnetic_note"],
            corrosion_note=row["corrosion_note"],
            values=values_of("wire_values.csv").get(row["id"], ()),
            identity_reference=reference(row, f"wire {row['id']}: material"),
        )
        for row in rows("wires.csv")
    )


@cache
def finishes() -> tuple[Finish, ...]:
    """Return every finish, in the order of the table.

    Returns
    -------
    tuple of Finish
    """
    return tuple(
        Finish(
            id=row["id"],
            name=row["name"],
            note=row["note"],
            hazard=row["hazard"],
            values=values_of("finish_values.csv").get(row["id"], ()),
            identity_reference=reference(row, f"finish {row['id']}"),
        )
        for row in rows("finishes.csv")
    )


@cache
def _wire_index() -> Mapping[str, Wire]:
    aliases = (row["aliases"] for row in rows("wires.csv"))
    return index((each.id, other, each) for each, other in zip(wires(), aliases, strict=True))


@cache
def _finish_index() -> Mapping[str, Finish]:
    aliases = (row["aliases"] for row in rows("finishes.csv"))
    return index((each.id, other, each) for each, other in zip(finishes(), aliases, strict=True))
