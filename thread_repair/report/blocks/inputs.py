"""The case as entered and as understood, and what it rests on."""

from __future__ import annotations

from collections.abc import Iterator

from IPython.display import Markdown

from ... import words
from ...case import changes, understood
from ...study import Study
from ...units import number
from ..figure import ReportTable
from .cells import cell, head
from .places import place

#: Keys that stand on the title block and are not repeated among the inputs.
TITLE_BLOCK = frozenset(
    {
        "title", "document", "revision", "status", "date", "prepared_by", "checked_by",
        "approved_by", "customer", "item", "serials", "scope", "damage", "report_units", "changes",
        "request", "order", "requirement", "classification", "recurring", "corrective_action",
    }
)  # fmt: skip


def inputs_table(study: Study) -> ReportTable:
    """Every stated input that bears on a number, as entered and as understood."""
    return ReportTable(
        ["Input", "Entered", "Understood"],
        [(name, entered, text) for name, entered, text in _inputs(study) if entered],
        caption="Stated inputs",
        label="inputs",
    )


def assumed_table(study: Study) -> ReportTable:
    """Every input that was not stated and has a value all the same."""
    return ReportTable(
        ["Input", "Assumed"],
        [(name, text) for name, entered, text in _inputs(study) if not entered],
        caption="Assumed inputs",
        label="assumed",
    )


def _inputs(study: Study) -> Iterator[tuple[str, str, str]]:
    case = study.case
    for key, value in understood(case).items():
        if key not in TITLE_BLOCK:
            text = words.given(value, system=case.report_units)
            yield input_name(key), case.entered.get(key, "").strip(), text


#: Names of inputs whose key does not read as one.
_NAMES = {
    "bush_diameter_thin": "Thin-wall solid threaded insert, outside diameter",
    "bush_diameter_heavy": "Heavy-duty solid threaded insert, outside diameter",
    "no_go_rule": "Rule for the NO-GO gauge",
    "design_load": "Limit load",
    "load_factor": "Factor of safety, ultimate",
    "yield_factor": "Factor of safety, yield",
    "separation_factor": "Factor of safety, separation",
    "load_factor_source": "Source of the factors",
    "seed": "Seed of the random numbers",
    "samples": "Joints sampled",
}


def input_name(key: str) -> str:
    """Return what a reader calls a key."""
    return _NAMES.get(key, key.replace("_", " ").capitalize())


def scope(study: Study) -> ReportTable:
    """What is decided and what was found, in the engineer's words."""
    case = study.case
    rows = (
        ("Item", case.item),
        ("Serial numbers", case.serials),
        ("Scope", case.scope),
        ("Damage as found", case.damage),
    )
    return ReportTable(["Subject", "As stated"], [row for row in rows if row[1]])


def change_record(study: Study) -> ReportTable | Markdown:
    """What was changed in which revision, the latest last."""
    case = study.case
    rows = [(each.revision, each.date, each.words) for each in changes(case.changes)]
    if not rows:
        return Markdown("No change record is kept.")
    return ReportTable(["Revision", "Date", "Change"], rows, alignment=["left"] * 3)


def allowables_table(study: Study) -> ReportTable:
    """The strengths used, with their source and how they are known."""
    return ReportTable(
        [
            "Strength",
            head("Value", "stress", study.case.report_units),
            "Source, clause (basis)",
        ],
        list(allowables_rows(study)),
        caption="Strengths, the same for both conditions",
        label="allowables",
        alignment=["left", "right", "left"],
    )


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
