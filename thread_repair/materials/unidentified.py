"""Parents of which only the metal is known: the lowest value that the table has of its group."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

from ..sources import UNCONFIRMED, Reference
from ..tables import Row, reference, rows
from .parents import Parent, parents, shear_strength
from .ratios import ShearRatio
from .values import Value, find

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
    weakest = min(group, key=lambda each: each.tensile)
    values = [_extreme(row["id"], name, group) for name in _PROPERTIES]
    shears = [(float(shear_strength(each).value), each) for each in group]
    shear, owner = min(shears, key=lambda pair: pair[0])
    found = shear_strength(owner)
    values.append(
        _value(row["id"], "shear", shear, owner, found.basis, found.references, len(group))
    )
    ratio, softest = min(
        ((value / each.tensile, each) for value, each in shears), key=lambda pair: pair[0]
    )
    return replace(
        weakest,
        id=row["id"],
        name=row["name"],
        uns="",
        en_number="",
        product_form="product form not known",
        thickness_from=float("nan"),
        thickness_to=float("nan"),
        temperature_table="",
        cut_from_casting="",
        note="",
        values=tuple(value for value in values if value is not None),
        identity_reference=reference(row, f"{row['id']}: lowest values of the group"),
        own_ratio=ShearRatio(
            family=weakest.family,
            ratio=ratio,
            printed=False,
            note=f"lowest of {row['group']}: {softest.id}",
            reference=_reference(
                row["id"],
                "shear over tensile strength",
                softest,
                shear_strength(softest).references,
                len(group),
            ),
        ),
    )


def _extreme(owner: str, name: str, group: Sequence[Parent]) -> Value | None:
    choose: Callable[..., tuple[float, int]] = max if name in _GREATEST else min
    known = [
        (value.value, at) for at, each in enumerate(group) if (value := find(each.values, name))
    ]
    if not known:
        return None
    number, at = choose(known)
    row = find(group[at].values, name)
    assert row is not None
    return _value(owner, name, number, group[at], row.basis, (row.reference,), len(known))


def _value(
    owner: str,
    name: str,
    number: float,
    row: Parent,
    basis: str,
    references: Sequence[Reference],
    count: int,
) -> Value:
    return Value(
        property=name,
        value=number,
        printed=f"{number:g}",
        unit="MPa",
        basis=basis,
        reference=_reference(owner, name, row, references, count),
    )


def _reference(
    owner: str, name: str, row: Parent, references: Sequence[Reference], count: int
) -> Reference:
    """Say whose value it is; as sure as the least sure of what it is made of."""
    unsure = [each for each in references if each.how_known in UNCONFIRMED]
    place = (unsure or references)[0]
    which = "greatest" if name in _GREATEST else "lowest"
    return replace(
        place,
        how_known=place.how_known if unsure else "derived",
        what=f"{owner}: {name}, {which} of {count} rows ({row.id})",
    )
