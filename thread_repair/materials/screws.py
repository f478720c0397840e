"""How strong is the screw: at least, at most, in proof and in shear."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType

from ..arrays import positive
from ..errors import ValidityError, unknown
from ..sources import Reference
from ..tables import Row, constant, reference, rows
from .ratios import shear_ratio
from .values import Value, convert, find, folded, index, number, reference_of, values_of

#: Sizes are nominal: a diameter computed from inches may differ from the bound by rounding only.
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Screw:
    """A class of screw within one range of sizes.

    Attributes
    ----------
    id, name : the name to type; the name to print
    key : id of this range of sizes, e.g. "8.8-over-16"
    family : "steel screw" or "austenitic screw"
    size_from, size_to : nominal diameters the strengths hold for, mm; NaN where not known
    values : every property with its own basis and reference

    Two properties always have a value. `tensile_max` is the highest strength by a table, else
    the lowest times the constant `screw_tensile_max_over_min`; `shear_over_tensile` comes from
    the class's own shear strength, else from the family.
    """

    id: str
    key: str
    name: str
    family: str
    size_from: float
    size_to: float
    note: str
    values: tuple[Value, ...]
    identity_reference: Reference

    @property
    def tensile_min(self) -> float:
        """Lowest ultimate tensile strength, MPa."""
        return number(self.values, "tensile_min")

    @property
    def tensile_max(self) -> float:
        """Highest ultimate tensile strength to reckon with, MPa."""
        return number(self.values, "tensile_max")

    @property
    def yield_(self) -> float:
        """Lowest yield strength, MPa; NaN where not known."""
        return number(self.values, "yield")

    @property
    def proof(self) -> float:
        """Stress under proof load, MPa; NaN where not known."""
        return number(self.values, "proof")

    @property
    def shear_over_tensile(self) -> float:
        """Ultimate shear strength over tensile strength of the screw's thread."""
        return number(self.values, "shear_over_tensile")

    @property
    def references(self) -> tuple[Reference, ...]:
        """Where every value of this screw comes from."""
        return (self.identity_reference, *(value.reference for value in self.values))

    def reference(self, name: str) -> Reference:
        """Return where one property ("tensile_min", "proof", ...) comes from."""
        return reference_of(self.values, name, owner=f"screw {self.id}")


def screw(name: str, diameter: float) -> Screw:
    """Return the screw of a class at a nominal diameter.

    Parameters
    ----------
    name : str
        "8.8", "A2-70", "J429-5", "A574", "180-ksi"; case, spaces, hyphens and dots do not count.
    diameter : float, mm

    Returns
    -------
    Screw

    Raises
    ------
    UnknownNameError
        Naming the nearest known classes.
    ValidityError
        If the document gives the class no strength at that diameter.

    Examples
    --------
    >>> screw("8.8", 16).tensile_min, screw("8.8", 20).tensile_min
    (800.0, 830.0)
    """
    try:
        ranges = _index()[folded(name)]
    except KeyError:
        raise unknown("screw", name, _spellings()) from None
    positive(diameter=diameter)
    for each in ranges:
        above = math.isnan(each.size_from) or diameter >= each.size_from - _ROUNDING
        below = math.isnan(each.size_to) or diameter <= each.size_to + _ROUNDING
        if above and below:
            return each
    first, last = ranges[0], ranges[-1]
    raise ValidityError(
        f"screw {first.id}: {first.identity_reference.source} gives it no strength at a diameter "
        f"of {diameter:g} mm, only from {first.size_from:g} to {last.size_to:g} mm; "
        "choose another class"
    )


@cache
def screws() -> tuple[Screw, ...]:
    """Return every class and range of sizes, in the order of the table.

    Returns
    -------
    tuple of Screw
    """
    return tuple(_screw(row) for row in rows("screws.csv"))


@cache
def names() -> tuple[str, ...]:
    """Return the ids of the classes, each once.

    Returns
    -------
    tuple of str
    """
    return tuple(dict.fromkeys(each.id for each in screws()))


@cache
def _aliases() -> Mapping[str, str]:
    return MappingProxyType({row["id"]: row["aliases"] for row in rows("screws.csv")})


@cache
def _spellings() -> tuple[str, ...]:
    """Return every name of a class that may be typed, the ids first."""
    others = (each for text in _aliases().values() for each in text.split(";") if each)
    return (*names(), *others)


@cache
def _index() -> Mapping[str, tuple[Screw, ...]]:
    aliases = _aliases()
    ranges = {name: tuple(each for each in screws() if each.id == name) for name in names()}
    return MappingProxyType(
        dict(index((name, aliases[name], each) for name, each in ranges.items()))
    )


def _screw(row: Row) -> Screw:
    values = values_of("screw_values.csv")[row["key"]]
    if find(values, "tensile_max") is None:
        values = (*values, _highest(values))
    return Screw(
        id=row["id"],
        key=row["key"],
        name=row["name"],
        family=row["family"],
        size_from=convert(row["size_from"], row["size_unit"]),
        size_to=convert(row["size_to"], row["size_unit"]),
        note=row["note"],
        values=(*values, _shear_over_tensile(row, values)),
        identity_reference=reference(row, f"screw {row['id']}: range of sizes"),
    )


def _highest(values: tuple[Value, ...]) -> Value:
    factor = constant("screw_tensile_max_over_min")
    lowest = number(values, "tensile_min")
    return Value(
        property="tensile_max",
        value=lowest * factor.value,
        printed=f"{factor.value:g}",
        unit="times the lowest",
        basis="derived",
        reference=factor.reference,
        note=f"No table gives the highest strength; {factor.value:g} times the lowest",
    )


def _shear_over_tensile(row: Row, values: tuple[Value, ...]) -> Value:
    shear = find(values, "shear")
    if shear is not None:
        ratio = shear.value / number(values, "tensile_min")
        basis, source, note = shear.basis, shear.reference, "From the shear strength of the class"
    else:
        chosen = shear_ratio(row["family"])
        ratio, basis, source, note = chosen.ratio, "derived", chosen.reference, chosen.note
    return Value(
        property="shear_over_tensile",
        value=ratio,
        printed=f"{ratio:.3f}",
        unit="-",
        basis=basis,
        reference=replace(source, what=f"screw {row['id']}: shear over tensile strength"),
        note=note,
    )
