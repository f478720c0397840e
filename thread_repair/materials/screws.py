"""How strong is the screw: at least, at most, in proof and in shear."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

from ..arrays import number_above_zero
from ..errors import ValidityError, unknown
from ..tables import Row, constant, reference, rows, source
from .values import Described, Value, folded, given, index, shear_ratio, stated, values_of

#: Sizes are nominal: a diameter computed from inches may differ from the bound by rounding only.
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Screw(Described):
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

    key: str
    name: str
    family: str
    size_from: float
    size_to: float
    note: str

    tensile_min = given("tensile_min", "Lowest ultimate tensile strength, MPa.")
    tensile_max = given("tensile_max", "Highest ultimate tensile strength to reckon with, MPa.")
    yield_ = given("yield", "Lowest yield strength, MPa; NaN where not known.")
    proof = given("proof", "Stress under proof load, MPa; NaN where not known.")
    shear_over_tensile = given(
        "shear_over_tensile", "Ultimate shear strength over tensile strength of the screw's thread."
    )


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
    ranges = _index().get(folded(name))
    if ranges is None:
        aliases = (each for row in rows("screws.csv") for each in row["aliases"].split(";"))
        known = (each.id for each in screws())
        raise unknown("screw", name, dict.fromkeys((*known, *filter(None, aliases))))
    number_above_zero(diameter=diameter)
    for each in ranges:
        if _has_strength(each, diameter):
            return each
    first, last = ranges[0], ranges[-1]
    others = [each for each in screws() if _has_strength(each, diameter)]
    others.sort(key=lambda each: abs(each.tensile_min - first.tensile_min))
    raise ValidityError.of(
        "screw_not_of_size",
        first=first,
        document=source(first.identity_reference.source),
        diameter=diameter,
        last=last,
        near=" or ".join(each.id for each in others[:2]),
    )


def _has_strength(each: Screw, diameter: float) -> bool:
    """Whether its document gives a class a strength at a diameter; a limit it lacks is NaN."""
    return not (diameter < each.size_from - _ROUNDING or diameter > each.size_to + _ROUNDING)


@cache
def screws() -> tuple[Screw, ...]:
    """Return every class and range of sizes, in the order of the table.

    Returns
    -------
    tuple of Screw
    """
    return tuple(_screw(row) for row in rows("screws.csv"))


@cache
def _index() -> Mapping[str, tuple[Screw, ...]]:
    aliases = {row["id"]: row["aliases"] for row in rows("screws.csv")}
    ranges = {name: tuple(each for each in screws() if each.id == name) for name in aliases}
    return index((f"{name};{aliases[name]}", each) for name, each in ranges.items())


def _screw(row: Row) -> Screw:
    values = {each.property: each for each in values_of("screw_values.csv")[row["key"]]}
    for name, each in values.items():  # the key of a range of sizes is a name of ours alone
        what = each.reference.what.replace(row["key"], f"screw {row['id']}", 1)
        values[name] = each._replace(reference=replace(each.reference, what=what))
    lowest, shear = values["tensile_min"].value, values.get("shear")
    if "tensile_max" not in values:
        factor = constant("screw_tensile_max_over_min")
        highest = lowest * factor.value
        values["tensile_max"] = Value("tensile_max", highest, "derived", factor.reference)
    if shear is None:
        chosen = shear_ratio(row["family"])
        ratio, basis, source = chosen.ratio, "derived", chosen.reference
    else:
        ratio, basis, source = shear.value / lowest, shear.basis, shear.reference
    place = replace(source, what=f"screw {row['id']}: shear over tensile strength")
    values["shear_over_tensile"] = Value("shear_over_tensile", ratio, basis, place)
    return Screw(
        **stated(Screw, row),
        values=tuple(values.values()),
        identity_reference=reference(row, f"screw {row['id']}: range of sizes"),
    )
