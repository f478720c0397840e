"""Where a value stands, short enough for a table cell."""

from __future__ import annotations

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
    if document.edition == "-" or document.edition.endswith("edition"):
        return _edition(source)
    return f"{document.edition}, {document.title}"


def _edition(source: str) -> str:
    """Return the edition alone where it names the document, else with the title."""
    document = sources.source(source)
    edition = document.edition.partition(";")[0]
    if edition == "-":
        return document.title
    return f"{document.title}, {edition}" if edition.endswith("edition") else edition


def place(reference: Reference) -> str:
    """Return the document, the clause and how it is known.

    Examples
    --------
    >>> from thread_repair.sources import Reference
    >>> place(Reference(source="fed-std-h28-6", clause="NOT GO gauge", how_known="read"))
    'FED-STD-H28/6, NOT GO gauge (verified)'
    """
    clause = f", {reference.clause}" if reference.clause else ""
    return f"{_edition(reference.source)}{clause} ({known(reference.how_known)})"
