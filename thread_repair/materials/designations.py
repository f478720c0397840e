"""Which parent a designation means, by which document, and what it leaves open."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache

from ..errors import UnknownNameError, shown, unknown
from ..tables import Reference, Row, reference, rows
from .parents import Parent, parents
from .unidentified import unidentified
from .values import folded, index


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
