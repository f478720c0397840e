"""The sources that influenced the numbers."""

from __future__ import annotations

from typing import Protocol

from IPython.display import Markdown

from ... import sources
from ...sources import HOW_KNOWN, Reference
from .. import escape
from ..figure import ReportTable
from .layout import table
from .places import clause, known, title


class Referenced(Protocol):
    """Anything that says where its numbers come from."""

    @property
    def references(self) -> tuple[Reference, ...]:
        """Where its numbers come from."""


def _references(parts: tuple[Part, ...]) -> tuple[Reference, ...]:
    return sources.ledger(
        reference
        for part in parts
        if part is not None
        for reference in (part if isinstance(part, tuple) else part.references)
    )


#: What a ledger is made of: something with references, references themselves, or nothing.
Part = Referenced | tuple[Reference, ...] | None


def ledger_table(*parts: Part) -> ReportTable:
    """Every document with the clauses used and how they are known, one row for each.

    A part that the case does not ask for, such as tightening, may be None.
    """
    grouped: dict[str, list[Reference]] = {}
    for reference in _references(parts):
        grouped.setdefault(reference.source, []).append(reference)
    rows = [(title(source), "; ".join(_places(found))) for source, found in grouped.items()]
    return table("sources", rows)


def _places(references: list[Reference]) -> list[str]:
    """Name each clause once, with everything it gives and how that is known."""
    given: dict[tuple[str, str], list[str]] = {}
    for reference in references:
        given.setdefault((clause(reference), reference.how_known), []).append(
            reference.what.replace("_", " ")
        )
    return [
        (f"{place}: " if place else "")
        + ", ".join(dict.fromkeys(what for what in whats if what))
        + f" ({known(how)})"
        for (place, how), whats in given.items()
    ]


def how_known_passage(*parts: Part) -> Markdown:
    """How many values are known how, and which recalled ones remain to be confirmed."""
    references = _references(parts)
    counts = {how: sum(r.how_known == how for r in references) for how in HOW_KNOWN}
    listed = ", ".join(f"{n} {known(how)}" for how, n in counts.items() if n)
    text = f"Values and formulas used: {listed}."
    recalled = [r for r in references if r.how_known == "memory"]
    if recalled:
        text += (
            " Those not verified are to be confirmed in the named document before the report is "
            "issued as final."
        )
    return Markdown(escape.markdown(text))
