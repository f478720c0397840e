"""Where does a number come from: the CSV tables of `data/`, every row with its document and place.

A table is read once and never changed; each row names its source and how surely it is known.
"""

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

import numpy as np

from . import files
from .arrays import FloatArray, read_only
from .errors import DataError, looked_up

Row = Mapping[str, str]
#: How a value is known, the surest first. `read`: seen in the document or in another that quotes
#: it; `measured`: supplied by the engineer; `derived`: computed from values that are themselves
#: sourced; `common_practice`: a fact of the trade without a published source; `memory`: recalled,
#: to be confirmed in the named document; `invented`: demo data.
HOW_KNOWN = ("read", "measured", "derived", "common_practice", "memory", "invented")

#: A report marked final may not rest on these.
UNCONFIRMED = frozenset({"memory", "invented"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A document: what `sources.toml` says of it."""

    id: str
    title: str
    publisher: str
    edition: str
    note: str = ""

    @property
    def is_named_by_edition(self) -> bool:
        """Whether the edition is a designation that names the document, not a year or a number."""
        return _is_designation(self.edition)

    @property
    def name(self) -> str:
        """The edition alone where it names the document, else the title with it.

        Examples
        --------
        >>> source("bs-1490").name, source("machinerys-handbook-27").name
        ('BS 1490:1988', "Machinery's Handbook, 27th edition")
        """
        own = self.edition.partition(";")[0]
        if own == "-":
            return self.title
        return own if _is_designation(own) else f"{self.title}, {own}"


def _is_designation(edition: str) -> bool:
    return re.search(r"[A-Z]{2}", edition) is not None and not edition.endswith("edition")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """One value or formula, the place it stands, and how it is known."""

    source: str
    clause: str
    how_known: str
    what: str = ""

    @property
    def confirmed(self) -> bool:
        """Whether a final report may rest on this value."""
        return self.how_known not in UNCONFIRMED


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """One number of `constants.csv` and where it comes from."""

    value: float
    reference: Reference


@cache
def all_sources() -> Mapping[str, Source]:
    """Return every document by its id."""
    return {key: Source(id=key, **told) for key, told in files.data("sources.toml").items()}


def source(source_id: str) -> Source:
    """Return one document.

    Raises
    ------
    UnknownNameError
        Naming the nearest known ids.
    """
    return looked_up("source", source_id, all_sources())


def ledger(references: Iterable[Reference]) -> tuple[Reference, ...]:
    """Return the references without repetition, grouped by document, least sure first in each."""
    order = {name: rank for rank, name in enumerate(HOW_KNOWN)}
    return tuple(
        sorted(set(references), key=lambda r: (r.source, -order[r.how_known], r.clause, r.what))
    )


@cache
def rows(name: str, **where: str) -> tuple[Row, ...]:
    """Return the rows of a table in `data/`, as text, in file order.

    Of the rows that have a value in a column, `where` names both. That every row has its columns,
    a listed source and how it is known `tests/test_data_sources.py` holds.
    """
    if where:
        return tuple(x for x in rows(name) if all(x[head] == of for head, of in where.items()))
    return tuple(map(MappingProxyType, csv.DictReader(files.own_text(name).splitlines())))


def row(name: str, column: str, value: str, what: str) -> Row:
    """Return the row of a table that has a value in a column.

    Raises
    ------
    UnknownNameError
        Naming `what` and the nearest known values.
    """
    return looked_up(what, value, {each[column]: each for each in rows(name)})


@cache
def columns(name: str, *heads: str, **where: str) -> tuple[FloatArray, ...]:
    """Return the numbers of columns of its `rows`, in file order; NaN where a cell is empty."""
    chosen = rows(name, **where)
    return tuple(
        read_only(np.array([float(each[head] or "nan") for each in chosen])) for head in heads
    )


def reference(row: Row, what: str = "") -> Reference:
    """Return where a row comes from."""
    return Reference(
        source=row["source"], clause=row.get("clause", ""), how_known=row["how_known"], what=what
    )


def referenced(name: str, what: str) -> list[dict[str, Any]]:
    """Return the rows of a table, each with where it comes from as its `reference`."""
    return [{**each, "reference": reference(each, what)} for each in rows(name)]


@cache
def cited(*names: str) -> tuple[Reference, ...]:
    """Return what `references.csv` cites under names: where formulas and assumptions stand.

    Raises
    ------
    DataError
        If it cites nothing under a name.
    """
    found = {name: rows("references.csv", id=name) for name in names}
    for name, cites in found.items():
        if not cites:
            raise DataError(f"references.csv cites nothing under {name!r}")
    return tuple(reference(row, row["what"]) for name in names for row in found[name])


@cache
def constant(name: str) -> Constant:
    """Return one number of `constants.csv`.

    Raises
    ------
    UnknownNameError
        Naming the nearest known constants.
    """
    found = row("constants.csv", "name", name, "constant")
    return Constant(value=float(found["value"]), reference=reference(found, found["note"]))
