"""How long the thread must be for the screw to break first, by every method, and which insert."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ...joint.required import (
    RequiredLength,
)
from ...study import Study
from ...units import number, plain, show
from ..figure import ReportTable
from .cells import cell, head, sentences
from .comparison import passage

if TYPE_CHECKING:
    from IPython.display import Markdown


def required_table(study: Study) -> ReportTable:
    """Tabulate the required lengths for the weakest and the strongest screw, by method."""
    system = study.case.report_units
    found = study.required
    original = {each.method: each for each in found if each.state == "original"}
    rows = [
        (
            "verdict" if each.is_verdict else each.title,
            _lengths(original[each.method], system),
            _lengths(each, system),
            cell(each.nominal_strongest, "length", system),
            _standard(each),
        )
        for each in found
        if each.state == "repaired"
    ]
    return ReportTable(
        [
            "Method",
            head("Original: weakest … strongest screw", "length", system),
            head("Repaired: weakest … strongest screw", "length", system),
            head("Nominal insert, strongest screw", "length", system),
            "Standard insert, weakest … strongest",
        ],
        rows,
        caption="Engaged length of full thread at which the screw breaks before a thread strips. "
        f"A dash: no length, or no standard insert, is enough{_reasons(study)}",
        label="required",
        alignment=["left", "right", "right", "right", "right"],
    )


def _reasons(study: Study) -> str:
    """Why a method has no length, where it is not that none is enough."""
    said = dict.fromkeys(
        f"{each.title}: {' '.join(sentences(study, each.reasons))}"
        for each in study.required
        if each.reasons
    )
    return "".join(f". {text.removesuffix('.')}" for text in said)


def _lengths(each: RequiredLength, system: str) -> str:
    one = "inch" if system == "inch" else "SI"  # two systems do not fit this column
    return f"{cell(each.weakest, 'length', one)} … {cell(each.strongest, 'length', one)}"


def _standard(each: RequiredLength) -> str:
    return f"{_diameters(each.standard_weakest)} … {_diameters(each.standard_strongest)}"


def _diameters(value: float) -> str:
    return "–" if math.isnan(value) else f"{value:g} D"


def recommendation(study: Study) -> Markdown:
    """Say which standard insert serves, what it asks of hole and screw, and what the table says."""
    case, evaluation = study.case, study.evaluation
    system = case.report_units
    joint = evaluation.joint
    best = study.recommended
    (why,) = sentences(study, (best.why,))
    if math.isnan(best.diameters):
        text = f"Recommended insert: none. {why}"
    else:
        text = (
            f"Recommended insert: {best.diameters:g} D, "
            f"{show(best.length, 'length', system=system)}. {why} The screw must "
            f"reach {show(best.reach, 'length', system=system)} past the joint face to engage all "
            f"of it; a blind hole is drilled "
            f"{show(best.drilled_bottoming, 'length', system=system)} deep for a bottoming tap, "
            f"{show(best.drilled_plug, 'length', system=system)} for a plug tap. The case names "
            f"{show(joint.insert_length, 'length', system=system)}, "
            f"{number(joint.insert_length / joint.thread.major)} D."
        )
    return passage(f"{text} {_table_words(study)}")


def _table_words(study: Study) -> str:
    system, check = study.case.report_units, study.table_check
    if check is None:
        return (
            "The length table of the metric insert standard does not list this thread and screw "
            "class."
        )
    needs = (
        "in this boss no length is enough by the calculation"
        if math.isnan(check.needed_diameters)
        else f"this calculation needs {number(float(check.needed_diameters))} D engaged for the "
        "same screw"
    )
    if math.isnan(check.table_diameters):
        return (
            "The length table of ASME B18.29.2M gives no length for this parent and screw class; "
            f"{needs}."
        )
    hidden = (
        ""
        if math.isnan(check.hidden_factor)
        else " What the fitted insert of the table offers is "
        f"{number(float(check.hidden_factor))} times as much: the factor that the table does not "
        "name."
    )
    tensile = plain(check.screw_tensile_max, dimension="stress", system=system)
    return (
        f"The length table of ASME B18.29.2M asks for {check.table_diameters:g} D for class "
        f"{study.evaluation.joint.screw.id} (at most {tensile}) in a parent of "
        f"{show(float(check.tabulated_shear), 'stress', system=system)} shear strength or more; "
        f"{needs}.{hidden}"
    )
