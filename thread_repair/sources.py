"""Where does this number come from, and how surely do we know it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from . import files
from .errors import DataError, unknown

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """One value or formula, the place it stands, and how it is known."""

    source: str
    clause: str
    how_known: str
    what: str = ""

    def __post_init__(self) -> None:
        if self.source not in all_sources():
            raise DataError(
                f"{self.what or 'a value'} cites source {self.source!r}, "
                "which is not in sources.toml"
            )
        if self.how_known not in HOW_KNOWN:
            raise DataError(
                f"{self.what or 'a value'} is known by {self.how_known!r}; "
                f"expected one of {', '.join(HOW_KNOWN)}"
            )

    @property
    def confirmed(self) -> bool:
        """Whether a final report may rest on this value."""
        return self.how_known not in UNCONFIRMED


@cache
def all_sources() -> Mapping[str, Source]:
    """Return every document by its id."""
    table = files.data("sources.toml")
    return MappingProxyType({key: Source(id=key, **fields) for key, fields in table.items()})


def source(source_id: str) -> Source:
    """Return one document.

    Raises
    ------
    UnknownNameError
        Naming the nearest known ids.
    """
    try:
        return all_sources()[source_id]
    except KeyError:
        raise unknown("source", source_id, all_sources()) from None


def ledger(references: Iterable[Reference]) -> tuple[Reference, ...]:
    """Return the references without repetition, grouped by document, least sure first in each."""
    order = {name: rank for rank, name in enumerate(HOW_KNOWN)}
    return tuple(
        sorted(set(references), key=lambda r: (r.source, -order[r.how_known], r.clause, r.what))
    )
