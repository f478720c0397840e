"""Where a value stands, short enough for a table cell."""

from __future__ import annotations

import re

from ... import sources, words
from ...facts import Term
from ...sources import Reference


def known(how: str) -> str:
    """Say how a value is known.

    Examples
    --------
    >>> known("common_practice"), known("measured"), known("memory")
    ('common practice', 'stated', 'not verified')
    """
    return words.term(Term("how_known", how))


def title(source: str) -> str:
    """Return edition and title of a document, in the order in which people name them.

    Examples
    --------
    >>> title("machinerys-handbook-27")
    "Machinery's Handbook, 27th edition"
    """
    document = sources.source(source)
    if not _names(document.edition):
        return edition(source)
    return f"{document.edition}, {document.title}"


def _names(text: str) -> bool:
    """Whether an edition is a designation that names the document, and not a year or a number."""
    return re.search(r"[A-Z]{2}", text) is not None and not text.endswith("edition")


def edition(source: str) -> str:
    """Return the edition alone where it names the document, else with the title."""
    document = sources.source(source)
    own = document.edition.partition(";")[0]
    if own == "-":
        return document.title
    return own if _names(own) else f"{document.title}, {own}"


def clause(reference: Reference) -> str:
    """Return where in the document a value stands; nothing for a place in this program."""
    own = sources.source(reference.source).publisher == "this project"
    return "" if own or reference.clause == "-" else reference.clause


def place(reference: Reference) -> str:
    """Return the document, the clause and how it is known.

    Examples
    --------
    >>> from thread_repair.sources import Reference
    >>> place(Reference(source="fed-std-h28-6", clause="NOT GO gauge", how_known="read"))
    'FED-STD-H28/6, NOT GO gauge (verified)'
    """
    where = f", {clause(reference)}" if clause(reference) else ""
    return f"{edition(reference.source)}{where} ({known(reference.how_known)})"
