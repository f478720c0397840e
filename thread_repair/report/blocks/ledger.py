"""The sources that influenced the numbers."""

from __future__ import annotations

from IPython.display import Markdown

from ... import sources
from ...joint import Evaluation
from ...sources import HOW_KNOWN, Reference
from ...tightening import Preloads
from ..figure import ReportTable
from .layout import clause, known, literal, table, title

#: What a ledger is made of: something with references, references themselves, or nothing.
Part = Evaluation | Preloads | tuple[Reference, ...] | None


def _references(parts: tuple[Part, ...]) -> tuple[Reference, ...]:
    return sources.ledger(
        reference
        for part in parts
        if part is not None
        for reference in (part if isinstance(part, tuple) else part.references)
    )


def ledger_table(*parts: Part) -> ReportTable:
    """Every document with the clauses used and how they are known, one row for each.

    A part that the case does not ask for, such as tightening, may be None.
    """
    given: dict[str, dict[tuple[str, str], dict[str, None]]] = {}
    for each in _references(parts):
        where = (clause(each), each.how_known)
        of_place = given.setdefault(each.source, {}).setdefault(where, {})
        if each.what:
            of_place[each.what.replace("_", " ")] = None
    rows = [
        (
            title(source),
            "; ".join(
                f"{f'{place}: ' if place else ''}{', '.join(whats)} ({known(how)})"
                for (place, how), whats in places.items()
            ),
        )
        for source, places in given.items()
    ]
    return table("sources", rows)


def how_known_passage(*parts: Part) -> Markdown:
    """How many values are known how, and which recalled ones remain to be confirmed."""
    ways = [each.how_known for each in _references(parts)]
    listed = ", ".join(f"{ways.count(how)} {known(how)}" for how in HOW_KNOWN if how in ways)
    text = f"Values and formulas used: {listed}."
    if "memory" in ways:
        text += (
            " Those not verified are to be confirmed in the named document before the report is "
            "issued as final."
        )
    return literal(text)
