"""How long the thread must be for the screw to break first, by every method, and which insert."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ... import words
from ...facts import Fact, Value, fact, length, number, stress
from ...joint.required import RequiredLength
from ...study import Study
from ..figure import ReportTable
from .cells import cell, sentences
from .comparison import passage
from .layout import table
from .lost import in_sound_metal

if TYPE_CHECKING:
    from IPython.display import Markdown


@in_sound_metal
def required_table(study: Study) -> ReportTable:
    """Tabulate the required lengths for the weakest and the strongest screw, by method."""
    system = study.case.report_units
    original = {each.method: each for each in study.required if each.state == "original"}
    rows = [
        (
            "reference method" if each.is_verdict else each.title,
            _lengths(original[each.method], system),
            _lengths(each, system),
            each.nominal_strongest,
            _standard(each),
        )
        for each in study.required
        if each.state == "repaired"
    ]
    return table("required", rows, system, reasons=_reasons(study))


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


@in_sound_metal
def recommendation(study: Study) -> Markdown:
    """Say which standard insert serves, what it asks of hole and screw, and what the table says."""
    system = study.case.report_units
    return passage(
        " ".join(words.sentence(each, system=system) for each in (_best(study), _table(study)))
    )


def _best(study: Study) -> Fact:
    best, joint = study.recommended, study.evaluation.joint
    if math.isnan(best.diameters):
        return best.reason
    return fact(
        "recommended_insert",
        "info",
        diameters=number(best.diameters),
        length=length(best.length),
        reason=best.reason,
        reach=length(best.reach),
        bottoming=length(best.drilled_bottoming),
        plug=length(best.drilled_plug),
        proposed_diameters=number(joint.insert_length / joint.thread.major),
        proposed=length(joint.insert_length),
    )


def _table(study: Study) -> Fact:
    check = study.table_check
    if check is None:
        return fact("table_not_listed", "info")
    needed = (
        fact("table_none_enough", "info")
        if math.isnan(check.needed_diameters)
        else fact("table_needed", "info", needed=number(float(check.needed_diameters)))
    )
    if math.isnan(check.table_diameters):
        return fact("table_no_length", "info", needed=needed)
    known: dict[str, Value] = {
        "asked": number(float(check.table_diameters)),
        "screw": study.evaluation.joint.screw.id,
        "tensile": stress(check.screw_tensile_max),
        "shear": stress(float(check.tabulated_shear)),
        "needed": needed,
    }
    if math.isnan(check.hidden_factor):
        return fact("table_length", "info", **known)
    return fact("table_length_factor", "info", factor=number(float(check.hidden_factor)), **known)
