"""Where a value stands, short enough for a table cell."""

from __future__ import annotations

from ... import sources
from ...sources import Reference


def known(how: str) -> str:
    """Say how a value is known.

    Examples
    --------
    >>> known("common_practice"), known("measured")
    ('common practice', 'stated in the case')
    """
    # Whether somebody measured or guessed it, the case does not say.
    return "stated in the case" if how == "measured" else how.replace("_", " ")


def title(source: str) -> str:
    """Return edition and title of a document, in the order in which people name them.

    Examples
    --------
    >>> title("machinerys-handbook-27")
    "Machinery's Handbook, 27th edition"
    """
    document = sources.source(source)
    if document.edition == "-":
        return document.title
    if document.edition.endswith("edition"):
        return f"{document.title}, {document.edition}"
    return f"{document.edition}, {document.title}"


def place(reference: Reference) -> str:
    """Return the document, the clause and how it is known.

    Examples
    --------
    >>> from thread_repair.sources import Reference
    >>> place(Reference(source="fed-std-h28-6", clause="NOT GO gauge", how_known="read"))
    'FED-STD-H28/6, NOT GO gauge (read)'
    """
    document = sources.source(reference.source)
    name = document.edition.partition(";")[0]
    if name == "-":
        name = document.title
    elif name.endswith("edition"):
        name = f"{document.title}, {name}"
    clause = f", {reference.clause}" if reference.clause else ""
    return f"{name}{clause} ({known(reference.how_known)})"
