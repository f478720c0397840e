"""What the entries of the form give: a study, or a sentence for each entry that is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from .. import case as cases
from .. import words
from ..errors import InputErrors, ThreadRepairError
from ..facts import Fact
from ..report.blocks.conclusion import criteria_table
from ..report.blocks.inputs import input_name
from ..report.escape import html
from ..report.figure import ReportTable
from ..study import Study, study
from .form import is_needed


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The study of the entries, or why there is none.

    Attributes
    ----------
    study : None where the entries make no case
    faults : sentence by key; what belongs to no key stands under ""
    missing : needed keys that are still empty
    """

    study: Study | None = None
    faults: Mapping[str, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()


def answer(entries: Mapping[str, str], folder: Path) -> Answer:
    """Study the entries; whatever is wrong with them ends in the answer."""
    try:
        found = study(cases.read(entries, folder=folder))
        found.statements  # noqa: B018  # what cannot be assessed is told now
        if found.case.pull_tests:
            found.evidence  # noqa: B018
    except InputErrors as error:
        return _refused(error.faults, entries)
    except ThreadRepairError as error:
        return _refused((str(error),), entries)
    except Exception as error:  # a fault of ours must not leave a screen that follows no more
        return _refused((f"a fault of the program: {type(error).__name__}: {error}",), entries)
    return Answer(study=found)


def _refused(sentences: tuple[str, ...], entries: Mapping[str, str]) -> Answer:
    faults: dict[str, str] = {}
    known = cases.keys()
    missing = tuple(key for key in known if is_needed(key) and not entries.get(key, "").strip())
    for sentence in sentences:
        key, _, said = sentence.partition(": ")
        if key in missing:
            continue
        if key not in known:
            key, said = "", sentence
        said = said[:1].upper() + said[1:]
        faults[key] = f"{faults[key]} {said}" if key in faults else said
    return Answer(faults=faults, missing=missing)


def shown(found: Answer, last: Study | None) -> str:
    """Return the conclusion and the criteria as HTML; of a wrong entry the last ones, as outdated.

    A screen reader reads out the status whenever it changes.
    """
    if found.study is not None:
        status, below = _concluded(found.study), _table(found.study)
    elif last is None:
        status, below = f"<p>{_why(found)}</p>", ""
    else:
        status = f"<p><strong>Outdated.</strong> {_why(found)}</p>"
        below = f'<div class="tr-outdated">{_concluded(last)}{_table(last)}</div>'
    return f'<div class="tr-answer"><div role="status">{status}</div>{below}</div>'


def _why(found: Answer) -> str:
    wrong = [input_name(key) for key in found.faults if key]
    parts = []
    if found.missing:
        parts.append(f"Still needed: {words.listed(map(input_name, found.missing)).lower()}.")
    if wrong:
        parts.append(f"To be put right: {words.listed(wrong).lower()}.")
    if "" in found.faults:
        parts.append(found.faults[""])
    return html(" ".join(parts))


def _concluded(found: Study) -> str:
    first, *rest = found.statements
    kind = found.conclusion.id.replace("_", "-")
    return (
        f'<p class="tr-conclusion tr-{kind}"><strong>{said_of(found, first)}</strong></p>'
        f"<p>{' '.join(said_of(found, each) for each in rest)}</p>"
    )


def said_of(found: Study, fact: Fact) -> str:
    """Return a fact as a sentence in the units of the report, as HTML."""
    return html(words.sentence(fact, system=found.case.report_units))


def wide(table: ReportTable, name: str) -> str:
    """Return a table that can be moved by keyboard where it is wider than the screen."""
    return (
        f'<div class="tr-wide" role="region" aria-label="{name}" tabindex="0">{table.html()}</div>'
    )


def _table(found: Study) -> str:
    return wide(criteria_table(found), "Criteria")
