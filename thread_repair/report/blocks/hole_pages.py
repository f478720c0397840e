"""One page and one workshop sheet for every different joint of a part."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from IPython.display import Markdown, display

from ... import words
from ...facts import fact, number
from ...study import Study
from ...study.submission import StudiedHole, Submission, labels
from ...tightening import StatePreload
from .. import escape
from ..figure import ReportTable
from . import section, tightening, workshop
from .cells import cell, head, load_case_words, mode_words
from .conclusion import as_found, conclusion, criteria_table, in_short, sentences
from .layout import table
from .part import alike, anchor, title


def pages(found: Submission) -> None:
    """Display a page for every different joint: picture, key numbers and criteria."""
    for holes in found.joints.values():
        display(*_page(found, holes))


def _page(found: Submission, holes: Sequence[StudiedHole]) -> Iterator[object]:
    study, name = holes[0].study, title(holes)
    yield Markdown("::: {.one-page}")
    yield Markdown(f"### {escape.markdown(_capital(name))} {{#{anchor(found, holes[0])}}}")
    yield conclusion(study)
    yield Markdown(" ".join(filter(None, (_applies(study, holes), as_found(study).data))))
    yield section.section_figure(study, of=name)
    yield numbers_table(study)
    yield criteria_table(study, of=name)
    yield Markdown(":::")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _applies(study: Study, holes: Sequence[StudiedHole]) -> str:
    """Say for which holes and serial numbers a page is."""
    found = []
    if len(holes) > 1:
        found.append(fact("submission_equal", "info", holes=tuple(each.label for each in holes)))
    if study.case.serials:
        found.append(fact("hole_on_serials", "info", serials=study.case.serials))
    return sentences(study, found)


def numbers_table(study: Study) -> ReportTable:
    """The numbers of both conditions that a decision rests on."""
    system, states = study.case.report_units, study.evaluation.states
    rows = [
        (head("Length of thread engagement", "length", system),
         *(cell(each.engagement, "length", system) for each in states.values())),
        (head("Thread-stripping strength", "force", system),
         *(cell(each.pull_out, "force", system) for each in states.values())),
        (head("Joint capacity", "force", system) + "; limited by",
         *(f"{cell(each.strength, 'force', system)}; {mode_words(each.governing_mode)}"
           for each in states.values())),
        ("Minimum margin of safety; load case", *(_margin(study, name) for name in states)),
    ]  # fmt: skip
    if study.preloads is not None:
        tightened = study.preloads.states
        rows += [
            (head("Preload in service", "force", system),
             *(_preload(tightened[name], system) for name in states)),
            ("Permissible tightening torque",
             *(_torque(tightened[name], system) for name in states)),
        ]  # fmt: skip
    return table("key-numbers", rows)


def _margin(study: Study, state: str) -> str:
    own = [each for each in study.margins if each.state == state]
    least = min(own, key=lambda each: each.margin, default=None)
    if least is None:
        return "not assessed"
    return f"{words.quantity(number(least.margin), how='signed')}; {load_case_words(least)}"


def _preload(found: StatePreload, system: str) -> str:
    ends = (float(found.preload.service.least), float(found.preload.service.highest))
    return " to ".join(cell(each, "force", system) for each in ends)


def _torque(found: StatePreload, system: str) -> str:
    if found.window is None:
        return "–" if math.isnan(found.window_nm[1]) else "none"
    return words.limits(found.window, system=system)


def sheets(found: Submission) -> None:
    """Display a workshop sheet for every different joint."""
    for holes in found.joints.values():
        display(*_sheet(holes))


def _sheet(holes: Sequence[StudiedHole]) -> Iterator[object]:
    study, name = holes[0].study, title(holes)
    yield Markdown("::: {.small}")
    yield Markdown(f"### Sheet for {escape.markdown(name)}")
    many = "equal" if len(holes) > 1 else "one"
    applies = fact(f"submission_sheet_{many}", "info", holes=labels(holes))
    yield Markdown(sentences(study, [applies]))
    yield in_short(study)
    yield workshop.job_table(study)
    yield workshop.hole_figure(study, of=name)
    yield workshop.steps_table(study)
    yield tightening.line(study)
    yield tightening.warnings(study)
    yield workshop.record_table(study)
    yield Markdown(":::")


def cautions(found: Submission) -> Markdown:
    """List every caution whose condition holds at a hole, once."""
    said = dict.fromkeys(each["text"] for study in found.studies for each in study.sheet.cautions)
    return Markdown("\n".join(f"- {escape.markdown(text)}" for text in said))


def spoiled_table(found: Submission) -> ReportTable:
    """Say what to do where a hole does not pass: each row once, with the holes it is for."""

    def rows(study: Study) -> Iterator[tuple[str, ...]]:
        for row in workshop.spoiled_table(study).rows:
            yield tuple(map(str, row))

    having = alike(found, rows)
    return table("spoiled-of-holes", [(row[0], which, *row[1:]) for row, which in having])
