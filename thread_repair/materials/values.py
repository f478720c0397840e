"""One value of a material, where it comes from, and what stands for a missing shear strength."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import Any, NamedTuple, TypeVar

from .. import files
from ..errors import DataError, looked_up, unknown
from ..tables import HOW_KNOWN, Reference, Row, reference, rows

#: Factor from a printed unit to the unit used inside.
FACTORS: Mapping[str, float] = files.data("tables.toml")["printed"]

T = TypeVar("T")


class Value(NamedTuple):
    """One property of one material.

    Attributes
    ----------
    property : "tensile", "yield", "shear", "elastic_modulus", ...
    value : in mm, MPa, degC, 1/K or percent
    basis : "A", "B", "S", "minimum", "maximum", "typical", "characteristic", "informative",
        "measured" or "estimated"
    reference : where it comes from
    """

    property: str
    value: float
    basis: str
    reference: Reference


def convert(printed: str, unit: str) -> float:
    """Turn a printed number into the unit used inside; an empty one into NaN.

    Parameters
    ----------
    printed, unit : str

    Returns
    -------
    float

    Raises
    ------
    KeyError
        If the unit has no factor.

    Examples
    --------
    >>> round(convert("42", "ksi"), 1), convert("212", "degF")
    (289.6, 100.0)
    """
    if not printed:
        return math.nan
    if unit == "degF":
        return (float(printed) - 32) / 1.8
    return float(printed) * FACTORS[unit]


@cache
def values_of(*tables: str) -> Mapping[str, tuple[Value, ...]]:
    """Return the values of tables by the material's id, in file order.

    A row of the handbook without an id is a B basis, which holds for structures with more than one
    load path only; it serves for comparison.

    Parameters
    ----------
    *tables : str

    Returns
    -------
    Mapping[str, tuple[Value, ...]]
    """
    found: dict[str, dict[str, Value]] = {}
    for row in (each for table in tables for each in rows(table) if each["material"]):
        own = found.setdefault(row["material"], {})
        for name, number in _printed(row):
            place = reference(row, f"{row['material']}: {called(name)}")
            own[name] = Value(name, number, row["basis"], place)
    return {key: tuple(own.values()) for key, own in found.items()}


#: Of the handbook, which has one row for each product, size and basis: property, its columns
#: (longitudinal and long-transverse where both are printed), its unit.
_COLUMNS: Sequence[tuple[str, Sequence[str], str]] = files.data("tables.toml")["handbook"]


def _printed(row: Row) -> Iterator[tuple[str, float]]:
    """Yield property and number: one of a row, or of the handbook's all that it has.

    Of two directions the lower value counts: which way the axis of a hole lies is not known.
    """
    if "property" in row:
        yield row["property"], convert(row["value"], row["unit"])
        return
    for name, columns, unit in _COLUMNS:
        printed = [row[column] for column in columns if row[column]]
        if printed:
            yield name, convert(min(printed, key=float), unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Described:
    """What all materials have: an id, and values of properties, each with its own reference."""

    id: str
    values: tuple[Value, ...]
    identity_reference: Reference

    @property
    def references(self) -> tuple[Reference, ...]:
        """Where every value of this material comes from."""
        return (self.identity_reference, *(value.reference for value in self.values))

    def find(self, name: str) -> Value | None:
        """Return the value of one property, or None where no source gives one."""
        return next((value for value in self.values if value.property == name), None)

    def reference(self, name: str) -> Reference:
        """Return where one property ("tensile", "shear", ...) comes from."""
        if (value := self.find(name)) is None:
            known = [known.property for known in self.values]
            raise unknown(f"property of {type(self).__name__.lower()} {self.id}", name, known)
        return value.reference


def given(name: str, doc: str) -> float:
    """Return a property whose number stands among the values; NaN where no source gives one.

    Parameters
    ----------
    name, doc : str

    Returns
    -------
    float
        As a reader of a material sees it.
    """

    def number(material: Described) -> float:
        value = material.find(name)
        return math.nan if value is None else value.value

    return property(number, doc=doc)  # type: ignore[return-value]


def called(name: str) -> str:
    """Return what a report calls a property.

    Parameters
    ----------
    name : str

    Returns
    -------
    str

    Examples
    --------
    >>> called("tensile_max"), called("elongation")
    ('maximum tensile strength', 'elongation')
    """
    return files.data("tables.toml")["property"].get(name, name)


def supplied(document: str, owner: str, name: str) -> Reference:
    """Return the place of a value that the engineer measured or read in a document.

    Parameters
    ----------
    document, owner, name : str
        Where it stands; id of the material; the property.

    Returns
    -------
    Reference
    """
    what = f"{owner}: {called(name)}"
    return Reference(source="engineer", clause=document, how_known="measured", what=what)


def made_of(references: Sequence[Reference], what: str) -> Reference:
    """Return the place of a value made of others: it is as sure as the least sure of them.

    Parameters
    ----------
    references : sequence of Reference
    what : str

    Returns
    -------
    Reference
    """
    unsure = [each for each in references if not each.confirmed]
    if unsure:
        return replace(unsure[0], what=what)
    return replace(references[0], how_known="derived", what=what)


def stated(kind: type, row: Row) -> dict[str, Any]:
    """Return what a row of a table says of the fields of a record that bear its columns' names.

    Parameters
    ----------
    kind : type
        A dataclass.
    row : Row
        `size_from` and its like are numbers in the unit that stands in `size_unit`.

    Returns
    -------
    dict of str to str or float
    """
    found: dict[str, Any] = {}
    for name in (each.name for each in fields(kind) if each.name in row):
        unit = row.get(f"{name.partition('_')[0]}_unit")
        found[name] = row[name] if unit is None else convert(row[name], unit)
    return found


def folded(name: str) -> str:
    """Return a name without what writers vary: case, space, hyphen, dot, underscore.

    Parameters
    ----------
    name : str

    Returns
    -------
    str

    Examples
    --------
    >>> folded("EN AC-42100_T6") == folded("en-ac 42100 t6")
    True
    """
    return str(name).casefold().translate(_VARIED)


_VARIED = str.maketrans("", "", " \t-._\u2010\u2011\u2012\u2013")


def index(pairs: Iterable[tuple[str, T]]) -> Mapping[str, T]:
    """Return items by their folded names ("a;b"); a name may mean one item only.

    Parameters
    ----------
    pairs : Iterable[tuple[str, T]]

    Returns
    -------
    mapping of str to T

    Raises
    ------
    DataError
        If a name means two things.
    """
    found: dict[str, T] = {}
    for names, item in pairs:
        for spelling in filter(None, names.split(";")):
            key = folded(spelling)
            if found.setdefault(key, item) is not item:
                raise DataError(f"the name {spelling!r} means two things")
    return found


class ShearRatio(NamedTuple):
    """Ultimate shear strength over tensile strength of one family of metals, by one source."""

    family: str
    ratio: float
    reference: Reference


@cache
def _ratios() -> Mapping[str, list[ShearRatio]]:
    found: dict[str, list[ShearRatio]] = {}
    for family, row, ratio in _known():
        place = reference(row, f"shear over tensile strength, {family}")
        found.setdefault(family, []).append(ShearRatio(family, ratio, place))
    return found


def _known() -> Iterator[tuple[str, Row, float]]:
    """Yield family, row and ratio: as printed, or of the two strengths printed for one metal."""
    for row in rows("shear_ratios.csv"):
        ratio = float(row["ratio"] or float(row["shear"]) / float(row["tensile"]))
        for family in row["families"].split(";"):
            yield family, row, ratio
    for row in rows("mil_hdbk_5j.csv"):
        if row["shear"]:
            # Over the greater of both directions.
            tensile = max(float(row[name]) for name in ("tensile_l", "tensile_lt") if row[name])
            yield row["family"], row, float(row["shear"]) / tensile


def shear_ratios(family: str) -> tuple[ShearRatio, ...]:
    """Return every ratio known for a family of metals, in file order.

    Parameters
    ----------
    family : str

    Returns
    -------
    tuple of ShearRatio

    Raises
    ------
    UnknownNameError
        Naming the nearest known families.
    """
    return tuple(looked_up("family of metals", family, _ratios()))


def shear_ratio(family: str) -> ShearRatio:
    """Return the ratio that is used for a family: the lowest, whatever its source.

    The sources of one family differ by 20 percent and more. A low ratio makes the metal weak,
    which is the safe side for every mode in which the parent or the screw thread shears. Where
    two sources give the same ratio, the one known more surely is named.

    Parameters
    ----------
    family : str

    Returns
    -------
    ShearRatio

    Examples
    --------
    >>> found = shear_ratio("cast aluminium")
    >>> found.ratio, found.reference.source
    (0.6, 'mil-hdbk-5j')
    """
    return min(
        shear_ratios(family),
        key=lambda each: (each.ratio, HOW_KNOWN.index(each.reference.how_known)),
    )
