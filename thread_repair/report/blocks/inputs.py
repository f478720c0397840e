"""The case as entered and as understood, and what it rests on."""

from __future__ import annotations

import re
from collections.abc import Iterator

from IPython.display import Markdown

from ... import words
from ...case import Case, changes, understood
from ...study import Study
from ...units import number
from ..figure import ReportTable
from .cells import cell
from .layout import table
from .places import place

#: Keys that stand on the title block and are not repeated among the inputs.
TITLE_BLOCK = frozenset(
    {
        "title", "document", "revision", "status", "date", "prepared_by", "checked_by",
        "approved_by", "customer", "item", "serials", "scope", "damage", "report_units", "changes",
        "request", "order", "requirement", "classification", "recurring", "corrective_action",
    }
)  # fmt: skip


_DEGREES = re.compile(r"(?<=\d )deg(?=[CF]\b)")


def inputs_table(study: Study) -> ReportTable:
    """Every stated input that bears on a number, as entered and as understood."""
    return table("inputs", [each for each in _inputs(study) if each[1]])


def assumed_table(study: Study) -> ReportTable:
    """Every input that was not stated and has a value all the same."""
    return table("assumed", [(name, text) for name, entered, text in _inputs(study) if not entered])


def _inputs(study: Study) -> Iterator[tuple[str, str, str]]:
    case = study.case
    for key, value in understood(case).items():
        if key not in TITLE_BLOCK:
            # as in a case file, but for the sign of a degree
            text = _DEGREES.sub("°", words.given(value, system=case.report_units))
            yield input_name(key), case.entered.get(key, "").strip(), text


def input_name(key: str) -> str:
    """Return what a reader calls a key."""
    named: str = words.catalogue()["terms"]["input_name"].get(
        key, key.replace("_", " ").capitalize()
    )
    return named


def scope(study: Study) -> ReportTable | Markdown:
    """What is decided and what was found, in the engineer's words."""
    case = study.case
    rows = (
        ("Item", case.item),
        ("Serial numbers", case.serials),
        ("Scope", case.scope),
        ("Damage as found", case.damage),
    )
    stated = [row for row in rows if row[1]]
    if not stated:
        return Markdown("Item, serial numbers, scope and damage are not stated.")
    return table("scope", stated)


def change_record(study: Study) -> ReportTable | Markdown:
    """What was changed in which revision, the latest last."""
    return changes_table(study.case)


def changes_table(case: Case) -> ReportTable | Markdown:
    """Tabulate the change record of a case."""
    rows = changes(case.changes)
    if not rows:
        return Markdown("No change record is kept.")
    return table("changes", rows)


def allowables_table(study: Study) -> ReportTable:
    """The strengths used, with their source and how they are known."""
    return table("allowables", allowables_rows(study), study.case.report_units)


def allowables_rows(study: Study) -> Iterator[tuple[str, str, str]]:
    """Yield each strength with its value and source."""
    joint, system = study.evaluation.joint, study.case.report_units
    screw = joint.screw
    for allowable in (
        joint.parent_shear,
        joint.parent_tensile,
        *(() if joint.parent_yield is None else (joint.parent_yield,)),
        joint.flow_stress,
        joint.wire_shear,
    ):
        # A source is credited with what it prints: of a product, with each of its parts.
        source = "; ".join(
            dict.fromkeys(
                f"{each.what}: {place(each)}" if allowable.factors else place(each)
                for each in allowable.references
            )
        )
        yield (
            words.sentence(allowable.named, system=system),
            cell(allowable.value, "stress", system, 4),
            source,
        )
    for noun, value, name in (
        ("minimum tensile strength", screw.tensile_min, "tensile_min"),
        ("maximum tensile strength", screw.tensile_max, "tensile_max"),
        ("shear over tensile strength", screw.shear_over_tensile, "shear_over_tensile"),
    ):
        text = number(value) if name == "shear_over_tensile" else cell(value, "stress", system, 4)
        yield f"screw {screw.id}: {noun}", text, place(screw.reference(name))
