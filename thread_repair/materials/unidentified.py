"""Parents of which only the metal is known: the lowest value that the table has of its group."""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from ..tables import Reference, Row, reference, rows
from .parents import Parent, parents, shear_strength
from .values import ShearRatio, Value, made_of

#: What begins the id of such a parent.
UNKNOWN = "unknown-"
#: A parent that expands more changes the preload more.
_GREATEST = ("expansion",)
_PROPERTIES = ("tensile", "yield", "elastic_modulus", "poisson", "expansion", "elongation")


@cache
def unidentified() -> tuple[Parent, ...]:
    """Return a parent for each group of metals, with the lowest strengths of the group.

    Strengths, elongation and modulus are the lowest that the table has of the group, on whichever
    basis; the expansion is the greatest. No such parent has a strength at another than room
    temperature. How surely a value is known is that of its row: the lowest of recalled values is
    no better known than they are.

    Returns
    -------
    tuple of Parent

    Examples
    --------
    >>> casting = unidentified()[0]
    >>> casting.id, casting.tensile
    ('unknown-aluminium-casting', 140.0)
    """
    return tuple(map(_lowest, rows("unknown_parents.csv")))


def _lowest(row: Row) -> Parent:
    group = [each for each in parents() if each.group == row["group"]]
    shears = [(each, shear_strength(each)) for each in group]
    known: dict[str, list[_Known]] = {
        name: [(x.value, each, x.basis, (x.reference,)) for each in group if (x := each.find(name))]
        for name in _PROPERTIES
    }
    known["shear"] = [(float(x.value), each, x.basis, x.references) for each, x in shears]
    values = tuple(_extreme(row["id"], name, each) for name, each in known.items() if each)
    ratios = [(float(x.value) / each.tensile, each, x.basis, x.references) for each, x in shears]
    ratio = _extreme(row["id"], "shear over tensile strength", ratios)
    weakest = min(group, key=lambda each: each.tensile)
    return replace(
        weakest,
        id=row["id"],
        name=row["name"],
        family=row["name"],
        uns="",
        en_number="",
        product_form="product form not known",
        thickness_from=math.nan,
        thickness_to=math.nan,
        temperature_table="",
        cut_from_casting="",
        note="",
        values=values,
        identity_reference=reference(row, f"{row['id']}: lowest values of the group"),
        own_ratio=ShearRatio(weakest.family, ratio.value, ratio.reference),
    )


#: A number, whose it is, its basis and what it is made of.
_Known = tuple[float, Parent, str, Sequence[Reference]]


def _extreme(owner: str, name: str, known: Sequence[_Known]) -> Value:
    """Return the value that counts; it is as sure as the least sure of its sources."""
    greatest = name in _GREATEST
    ordered = sorted(known, key=lambda each: each[0])
    number, row, basis, references = ordered[-1 if greatest else 0]
    which = "greatest" if greatest else "lowest"
    place = made_of(references, f"{owner}: {name}, {which} of {len(known)} rows ({row.id})")
    return Value(name, number, basis, place)
