"""Where a value stands, short enough for a table cell."""

from __future__ import annotations

from ... import sources
from ...sources import Reference


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
    return f"{name}{clause} ({reference.how_known.replace('_', ' ')})"
