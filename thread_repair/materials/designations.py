"""Which parent a designation means, by which document; and those that name the metal alone."""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from ..errors import UnknownNameError, shown, unknown
from ..tables import Reference, Row, reference, rows
from .parents import Parent, parents, shear_strength
from .values import ShearRatio, Value, folded, index, made_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Designation:
    """A name that somebody typed, and the parent whose values are used for it.

    Attributes
    ----------
    typed : as typed
    parent : the parent
    relation : "id": the parent's own id; "same": another name of the same product; "temper": that
        of an alloy of which temper or product form are assumed; "near": that of another alloy
        which a document relates to it
    assumed : temper, product form and the like that the name does not say; empty where it does
    reference : the document that relates both; None for the parent's own id
    """

    typed: str
    parent: Parent
    relation: str = "id"
    assumed: str = ""
    reference: Reference | None = None

    @property
    def is_certain(self) -> bool:
        """Whether the values are those of the metal named."""
        return self.relation in ("id", "same")


def parent(name: str) -> Parent:
    """Return a parent by its id or another of its names, however written.

    Parameters
    ----------
    name : str

    Returns
    -------
    Parent

    Raises
    ------
    UnknownNameError
        Naming the nearest known names of the same metal.

    Examples
    --------
    >>> parent("EN AC-42100 t6").id
    'EN-AC-42100-T6'
    """
    return designation(name).parent


def designations() -> tuple[str, ...]:
    """Return every name that stands for a parent: the ids, then the others.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> {"EN-AC-42100-T6", "ADC12"} <= set(designations())
    True
    """
    others = (alias for row in rows("parent_aliases.csv") for alias in row["alias"].split(";"))
    return (*(each.id for each in (*parents(), *unidentified())), *others)


def designation(name: str) -> Designation:
    """Return what a name means, and by which document.

    Parameters
    ----------
    name : str

    Returns
    -------
    Designation

    Raises
    ------
    UnknownNameError
        As `parent`.

    Examples
    --------
    >>> found = designation("ADC12")
    >>> found.parent.id, found.relation, found.reference.source
    ('EN-AC-46100', 'near', 'jis-h-5302')
    """
    if (found := meant(name)) is None:
        raise _unknown(name)
    return found


def meant(name: str) -> Designation | None:
    """Return what a name means, as `designation`; None if nothing, without a search for near ones.

    Parameters
    ----------
    name : str

    Returns
    -------
    Designation or None

    Examples
    --------
    >>> meant("blind") is None
    True
    """
    if (found := _known(name)) is not None:
        return found
    typed = _typed(name)
    for row in rows("parent_spellings.csv"):
        if not row["reads_as"] or not (match := re.fullmatch(row["pattern"], typed)):
            continue
        spelt = match.expand(row["reads_as"])
        found = _known(spelt)
        if found is not None and found.parent.group in (row["group"] or found.parent.group):
            relation = "same" if found.relation == "id" else found.relation
            place = found.reference or reference(row, f"{name.strip()}: spelling of {spelt}")
            return replace(found, typed=name, relation=relation, reference=place)
    return None


def _known(name: str) -> Designation | None:
    own, row = _index().get(folded(name), (None, None))
    if own is None:
        return None
    if row is None:
        return Designation(typed=name, parent=own)
    return Designation(
        typed=name,
        parent=own,
        relation=row["relation"],
        assumed=row["assumed"],
        reference=reference(row, f"{name.strip()}: stands for {row['parent']}"),
    )


@cache
def _index() -> Mapping[str, tuple[Parent, Row | None]]:
    """Return what each name means, and the row that says so of one that is no id."""
    own = {each.id: each for each in (*parents(), *unidentified())}
    ids = ((name, (each, None)) for name, each in own.items())
    aliases = ((row["alias"], (own[row["parent"]], row)) for row in rows("parent_aliases.csv"))
    return index((*ids, *aliases))


def _typed(name: str) -> str:
    return re.sub(r"\s+", "", str(name).upper()).translate(_DASHES)


_DASHES = str.maketrans("\u2010\u2011\u2012\u2013", "----")


def _unknown(name: str) -> UnknownNameError:
    """Build the error for an unknown parent: names near to it, of its own metal where that shows.

    A name of another metal may look nearer: "ADC13" is no zinc alloy "AC41A".
    """
    typed, metals = _typed(name), rows("parent_spellings.csv", reads_as="")
    found = [row["group"].split(";") for row in metals if re.fullmatch(row["pattern"], typed)]
    groups = found[0] if found else None
    same = list(_names(groups))
    if not same and groups:
        tabled = ", ".join(dict.fromkeys(each.group for each in parents()))
        wanted = " or ".join(groups)
        return UnknownNameError.of(
            "metal_not_tabulated", name=shown(name), wanted=wanted, tabled=tabled
        )
    key = folded(name)
    # A metal by its everyday name alone, in either spelling.
    metal = key.replace("aluminum", "aluminium").removeprefix("cast")
    plain = [each.id for each in unidentified() if key and metal in each.id.split("-")]
    if plain:
        return unknown("parent", name, plain, likeness=0.01)
    begun = [each for each in same if key and folded(each).startswith(key)]
    # Of the same metal the nearest serves, however far.
    return unknown("parent", name, begun or same, likeness=0.5 if groups is None else 0.01)


def _names(groups: list[str] | None) -> Iterator[str]:
    """Yield ids, then other names, of the groups; the ids of all where none is known."""
    yield from (each.id for each in parents() if groups is None or each.group in groups)
    for row in rows("parent_aliases.csv"):
        if groups is not None and _index()[folded(row["parent"])][0].group in groups:
            yield from row["alias"].split(";")


# ---- of which only the metal is known

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
