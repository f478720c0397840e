"""The sources that influenced the numbers, and the block that is signed."""

from __future__ import annotations

from typing import Protocol

from IPython.display import Markdown

from ... import sources
from ...sources import HOW_KNOWN, Reference
from ...study import Study
from .. import escape
from ..figure import ReportTable, SignOff
from .places import known, title


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
    """Every source with the clauses used and how they are known, one row for each.

    A part that the case does not ask for, such as tightening, may be None.
    """
    grouped: dict[tuple[str, str], list[Reference]] = {}
    for reference in _references(parts):
        grouped.setdefault((reference.source, reference.how_known), []).append(reference)
    rows = [
        (title(source), known(how), "; ".join(_places(references)))
        for (source, how), references in grouped.items()
    ]
    return ReportTable(
        ["Source", "How known", "Clause: what it gives"],
        rows,
        caption="Sources of every number of this report",
        label="sources",
    )


def _places(references: list[Reference]) -> list[str]:
    """Name each clause once, with everything it gives."""
    given: dict[str, list[str]] = {}
    for reference in references:
        # Of a place in the code the function's name is enough to find it.
        place = (
            reference.clause.rpartition(".")[2]
            if "thread_repair." in reference.clause
            else (reference.clause)
        )
        given.setdefault(place, []).append(reference.what.replace("_", " "))
    return [
        ("" if place == "-" else f"{place}: ")
        + ", ".join(dict.fromkeys(what for what in whats if what))
        for place, whats in given.items()
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
            " Those from memory are to be confirmed in the named document before the report is "
            "made final."
        )
    return Markdown(escape.markdown(text))


def sign_off(study: Study) -> SignOff:
    """The sign-off block: names where the case gives them, room to sign where it does not."""
    case = study.case
    return SignOff(
        {
            "Prepared": case.prepared_by,
            "Checked": case.checked_by,
            "Approved": case.approved_by,
        }
    )
