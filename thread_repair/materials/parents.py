"""How strong is the metal that is tapped, on what basis, and who says so."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Floats, finite, number_above_zero, plain, positive
from ..errors import InputError
from ..tables import Reference, Row, reference, rows
from .values import Described, ShearRatio, Value, given, shear_ratio, stated, supplied, values_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Parent(Described):
    """A metal in one product form, as one source describes it.

    A material that two sources describe differently is two parents. A property no source gives
    is NaN.

    Attributes
    ----------
    id, name : the name to type; the name to print
    group : "wrought aluminium", "cast aluminium", "magnesium", "zinc", "copper alloy",
        "grey iron" or "ductile iron"
    family : finer than the group, for the ratio of shear to tensile strength
    uns, en_number : designations, empty where none is known
    product_form : "plate", "sand casting", ...
    thickness_from, thickness_to : range the strength holds for, mm; NaN where not limited
    casting : whether the part is cast
    specimen : for a casting, on what its strength was measured: "separately cast", "designated
        areas", "non-designated areas", "cut from castings" or "supplied"; else empty
    cut_from_casting : id of the parent with the strengths of pieces cut from such castings, or
        empty
    temperature_table : name of the alloy and temper in the temperature tables, or empty
    note : on this metal; `corrosion_note` and `creep_note` : on its group
    melts_at : degC, from which on no metal of its group on record is solid
    galvanic_group : 1 (magnesium) to 4 (copper alloys), see `galvanic_groups.csv`
    values : every property with its own basis and reference
    measured_at : temperature at which the engineer's strengths were measured, degC; else NaN
    own_name : what the part's metal is called where that is not the row of the table; else empty
    own_ratio : shear over tensile strength of this very parent, where it stands for a tabled shear
        strength; else None, and that of the family holds
    """

    name: str
    group: str
    family: str
    uns: str
    en_number: str
    product_form: str
    thickness_from: float
    thickness_to: float
    casting: bool
    specimen: str
    temperature_table: str
    note: str
    corrosion_note: str
    creep_note: str
    melts_at: float
    galvanic_group: int
    cut_from_casting: str
    own_name: str = ""
    measured_at: float = math.nan
    own_ratio: ShearRatio | None = None

    @property
    def label(self) -> str:
        """What a report calls the metal: by its own name, or short, by its id."""
        return self.own_name or self.id

    tensile = given("tensile", "Ultimate tensile strength, MPa.")
    yield_ = given("yield", "Yield strength (0.2 % proof strength), MPa.")
    shear = given("shear", "Ultimate shear strength where a source gives one; `shear_strength`.")
    elastic_modulus = given("elastic_modulus", "Young's modulus, MPa.")
    poisson = given("poisson", "Poisson's ratio.")
    expansion = given("expansion", "Linear thermal expansion near room temperature, 1/K.")
    elongation = given("elongation", "Elongation after fracture, percent.")
    temperature_limit = given(
        "temperature_limit", "Above which the trade does not load the metal for long, degC."
    )

    @property
    def basis(self) -> str:
        """Basis of the tensile strength: "A", "minimum", "typical", ..."""
        value = self.find("tensile")
        return "" if value is None else value.basis

    def is_supplied(self, name: str) -> bool:
        """Whether the engineer supplied a property, in place of a table."""
        value = self.find(name)
        return value is not None and value.reference.source == "engineer"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShearStrength:
    """Ultimate shear strength of a parent, MPa, and how it was arrived at.

    `derived` marks a value computed from the tensile strength by `ratio`; `references` then names
    both the tensile strength and the ratio. `basis` is that of the strength it starts from.
    """

    value: Floats
    derived: bool
    ratio: float
    basis: str
    casting_factor: Floats
    references: tuple[Reference, ...]


def shear_strength(parent: Parent, *, casting_factor: ArrayLike = 1.0) -> ShearStrength:
    """Return the ultimate shear strength of a parent at room temperature.

    The source's own value where it gives one, otherwise the tensile strength times the ratio of
    the parent's family (`shear_ratio`).

    Parameters
    ----------
    parent : Parent
    casting_factor : array_like, above 0 and up to 1
        Strength of the casting at the hole over that of the test bar. Castings only.

    Returns
    -------
    ShearStrength

    Raises
    ------
    InputError
        If the factor is out of its range, or not 1 for a wrought parent.

    Examples
    --------
    >>> from .designations import parent
    >>> float(round(shear_strength(parent("6061-T6")).value, 1))
    186.2
    """
    (factor,) = positive(casting_factor=casting_factor)
    if (factor > 1).any():
        raise InputError.of("casting_factor_range", most=np.nanmax(factor))
    if not parent.casting and (factor != 1).any():
        raise InputError.of("casting_factor_of_casting", parent=parent)
    own = parent.find("shear")
    references: tuple[Reference, ...]
    if own is not None:
        base, basis, ratio, references = own.value, own.basis, math.nan, (own.reference,)
    else:
        tensile = parent.find("tensile")
        assert tensile is not None  # every row has one
        chosen = parent.own_ratio or shear_ratio(parent.family)
        base, basis, ratio = tensile.value * chosen.ratio, tensile.basis, chosen.ratio
        references = (tensile.reference, chosen.reference)
    return ShearStrength(
        value=plain(base * factor),
        derived=own is None,
        ratio=ratio,
        basis=basis,
        casting_factor=plain(factor),
        references=references,
    )


def with_measured(
    parent: Parent,
    *,
    document: str,
    tensile: float | None = None,
    yield_: float | None = None,
    shear: float | None = None,
    temperature: float = 20.0,
    basis: str = "measured",
) -> Parent:
    """Return the parent with strengths that the engineer measured or read in a document.

    Parameters
    ----------
    parent : Parent
    document : str
        Where the values stand: a test report, a certificate, a page.
    tensile, yield_, shear : float, MPa
    temperature : float, degC
        Of the measurement. Strengths measured at room temperature fall with the temperature of
        the joint as the table's do; `at_temperature` takes those measured hot as they are.
    basis : str
        "minimum", "A", ...; "measured" where it is not stated.

    Returns
    -------
    Parent

    Raises
    ------
    InputError
        Without a document or a strength.

    Notes
    -----
    A tensile strength alone replaces the tabled shear and yield strengths too. The shear strength
    then follows from the tensile strength by the ratio of the two tabled ones, or by the
    family's; the yield strength falls in proportion, and does not rise. A part measured softer
    than its table must not keep the strengths of the table.
    """
    if not document.strip():
        raise InputError("parent_source must name the document of a measured strength")
    named = {"tensile": tensile, "yield": yield_, "shear": shear}
    given = {name: value for name, value in named.items() if value is not None}
    if not given:
        raise InputError("give parent_shear_strength or parent_tensile_strength")
    number_above_zero(**{f"parent_{name}_strength": value for name, value in given.items()})
    (measured_at,) = finite(temperature=temperature)
    new = {
        name: Value(name, float(value), basis, supplied(document, parent.id, name))
        for name, value in given.items()
    }
    return replace(
        with_values(parent, new),
        specimen="supplied" if parent.casting and (tensile or shear) else parent.specimen,
        measured_at=float(measured_at),
    )


def with_values(parent: Parent, new: Mapping[str, Value]) -> Parent:
    """Return the parent with new strengths and what follows from a new tensile strength.

    Parameters
    ----------
    parent : Parent
    new : mapping of str to Value

    Returns
    -------
    Parent
    """
    kept = {value.property: value for value in parent.values if value.property not in new}
    if (tensile := new.get("tensile")) is None:
        return replace(parent, values=(*kept.values(), *new.values()))
    ratio, shear = parent.own_ratio, kept.pop("shear", None)
    if shear is not None and ratio is None:
        what = f"{parent.id}: tabled shear over tensile strength"
        place = replace(shear.reference, what=what)
        ratio = ShearRatio(parent.family, shear.value / parent.tensile, place)
    if "yield" in kept and (softer := tensile.value / parent.tensile) < 1:
        tabled = kept["yield"]
        what = f"{tabled.reference.what}, lowered by {softer:.3g} as the tensile strength is"
        place = replace(tabled.reference, what=what)
        kept["yield"] = tabled._replace(value=softer * tabled.value, reference=place)
    return replace(parent, values=(*kept.values(), *new.values()), own_ratio=ratio)


@cache
def parents() -> tuple[Parent, ...]:
    """Return every parent, in the order of the table.

    Returns
    -------
    tuple of Parent
    """
    return tuple(_parent(row) for row in rows("parents.csv"))


def _parent(row: Row) -> Parent:
    facts = {x["property"]: x for x in rows("material_groups.csv", group=row["group"])}
    return Parent(
        **{**stated(Parent, row), "casting": row["casting"] == "yes"},
        corrosion_note=facts["corrosion_note"]["value"],
        creep_note=facts["creep_note"]["value"] if "creep_note" in facts else "",
        melts_at=float(facts["melts_at_degC"]["value"]),
        galvanic_group=int(facts["galvanic_group"]["value"]),
        values=_values(row),
        identity_reference=reference(row, f"{row['id']}: product form and designation"),
    )


#: Properties that the forms and tempers of one alloy share.
_CONSTANTS = ("elastic_modulus", "poisson", "expansion", "temperature_limit")


def _values(row: Row) -> tuple[Value, ...]:
    """Return the parent's own values, then what its alloy gives beside them."""
    given = values_of("mil_hdbk_5j.csv", "parent_values.csv")
    own = given.get(row["id"], ())
    known = {value.property for value in own}
    shared = given[row["constants_of"]] if row["constants_of"] else ()
    return own + tuple(v for v in shared if v.property in _CONSTANTS and v.property not in known)
