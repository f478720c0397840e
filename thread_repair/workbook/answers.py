"""What the entries of the form give: conclusion and pictures, or a sentence for each wrong entry.

The conclusion follows each letter; pictures, as SVG, and what costs more follow when the typing
pauses.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from .. import case, words
from ..facts import Fact, Term, count, fact
from ..report.blocks.comparison import alternatives_table, section_figure, strip_load_figure
from ..report.blocks.conclusion import criteria_table, stated_loads
from ..report.blocks.layout import figure
from ..report.blocks.review import load_slip_figure
from ..report.escape import html
from ..report.figure import ReportFigure, ReportTable
from ..report.jobs import sentences
from ..study import Study, study
from ..study.shown import open_heading
from ..units import signed
from .form import is_needed, labelled


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
        found = study(case.read(entries, folder=folder))
        found.statements  # noqa: B018  # what cannot be assessed is told now
        if found.case.pull_tests:
            found.evidence  # noqa: B018
    except Exception as error:
        return _refused(sentences(error), entries)
    return Answer(study=found)


def _refused(sentences: tuple[str, ...], entries: Mapping[str, str]) -> Answer:
    faults: dict[str, str] = {}
    known = case.keys()
    missing = tuple(key for key in known if is_needed(key) and not entries.get(key, "").strip())
    for sentence in sentences:
        key, _, said = sentence.partition(": ")
        if key in missing:
            continue
        if key not in known:
            key, said = "", sentence
        said = words.capital(said)
        faults[key] = f"{faults[key]} {said}" if key in faults else said
    return Answer(faults=faults, missing=missing)


def shown(found: Answer, last: Study | None) -> str:
    """Return the conclusion and the criteria as HTML; of a wrong entry the last ones, as outdated.

    A screen reader reads out the status whenever it changes.
    """
    if found.study is not None:
        status, below = _concluded(found.study)
    elif last is None:
        status, below = f"<p>{_why(found)}</p>", ""
    else:
        status = f"<p><strong>Outdated.</strong> {_why(found)}</p>"
        below = f'<div class="tr-outdated">{"".join(_concluded(last))}</div>'
    return f'<div class="tr-answer"><div role="status">{status}</div>{below}</div>'


def _why(found: Answer) -> str:
    wrong = [words.input_name(key) for key in found.faults if key]
    parts = []
    if found.missing:
        parts.append(f"Still needed: {words.listed(map(words.input_name, found.missing)).lower()}.")
    if wrong:
        parts.append(f"To be put right: {words.listed(wrong).lower()}.")
    if "" in found.faults:
        parts.append(found.faults[""])
    return html(labelled(" ".join(parts)))


def _concluded(found: Study) -> tuple[str, str]:
    """Return what is concluded, and the criteria below it with what limits it and what is open."""
    first, *rest = (*found.statements, *found.agreed_first)
    loads, warned, still = (
        " ".join(_said_of(found, each) for each in facts)
        for facts in (stated_loads(found), found.warned, found.open_besides)
    )
    warned = warned and f"<p>{warned}</p>"
    kind = found.conclusion.id.replace("_", "-")
    return (
        f'<p class="tr-conclusion tr-{kind}"><strong>{_said_of(found, first)}</strong></p>'
        f"<p>{' '.join(_said_of(found, each) for each in rest)}</p>",
        f"<p><strong>Loads.</strong> {loads}</p>"  # as read: a slip of a unit shows here
        f"{_wide(criteria_table(found), 'Criteria')}{warned}"
        f"<p><strong>{open_heading(found)}</strong> {still}</p>",
    )


def _said_of(found: Study, fact: Fact) -> str:
    return html(labelled(words.sentence(fact, system=found.case.report_units)))


def _wide(table: ReportTable, name: str) -> str:
    """Return a table that can be moved by keyboard where it is wider than the screen."""
    return (
        f'<div class="tr-wide" role="region" aria-label="{name}" tabindex="0">{table.html()}</div>'
    )


def _as_found(study: Study) -> str:
    """Whose strength is used, down to which strength the conclusion holds, the hole as found."""
    said = (_said_of(study, each) for each in (*study.hole, *study.metal))
    return f"<p>{' '.join(said)}</p>"


def _margins(study: Study) -> str:
    least = study.least_margins
    if not least:
        return "<p>No limit load, torque or preload is stated: no margin of safety.</p>"
    smallest, margins = next(iter(least.items()))
    told = ", ".join(f"{state} {signed(found.margin)}" for state, found in margins.items())
    drawn, mode = study.plot.margins(), Term("margin", smallest)
    modes = count(len(least))
    return figure("margins-by-mode", drawn, study, modes=modes, smallest=mode, told=told).html()


def _load_slip(study: Study) -> str:
    told = study.load_slip.facts
    if told and not study.holds_insert:
        told = (fact("in_sound_metal", "limit"), *told)
    said = " ".join(_said_of(study, each) for each in told)
    drawn = load_slip_figure(study)
    shown = drawn.html() if isinstance(drawn, ReportFigure) else ""
    return f"{shown}<p>{said}</p>"


def _options(study: Study) -> str:
    options = [each.is_acceptable for each in study.alternatives]
    all_, good, drawing = count(len(options)), count(sum(options)), study.plot.alternatives()
    drawn = figure("options-side-by-side", drawing, study, options=all_, acceptable=good)
    table = _wide(alternatives_table(study, drill=True), "Options")
    return f"{drawn.html()}<details><summary>The options as a table</summary>{table}</details>"


#: Every part by its heading, in the order in which an engineer looks at them.
CHARTS: Mapping[str, Callable[[Study], str]] = {
    "Hole and parent material": _as_found,
    "Section of both holes": lambda study: section_figure(study).html(),
    "Thread-stripping load against length": lambda study: strip_load_figure(study).html(),
    "Load against travel": _load_slip,
    "Margins of safety": _margins,
    "Options": _options,
}


def chart(heading: str, study: Study) -> str:
    """Return a part with its heading as HTML."""
    return f"<h2>{html(heading)}</h2>{CHARTS[heading](study)}"
