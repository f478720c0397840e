"""A report in inches holds no SI unit but where it quotes, and one in both says what SI says."""

import functools
import json
import math
import re

import attrs
import nbformat
import pytest
from calls import ROOT, demo, shown, words
from matplotlib.text import Text
from reports.five_cases import FIVE

import thread_repair as tr
from thread_repair import tables
from thread_repair import words as words_of
from thread_repair.facts import Range
from thread_repair.report.blocks import comparison, workshop
from thread_repair.report.results import results

SI = re.compile(r"(?<![\w-])(?:mm²?|kN|N|MPa|N·m|°C|degC)(?![\w/])")
#: What stands in brackets behind SI: numbers, their unit, or both.
INCHES = re.compile(
    r" \((?:at least |at most )?(?:[-−]?[\d.–]+)?(?: (?:to|and|of its) [\d.–]+|, [\d.]+)*"
    r" ?(?:in²?|lbf|ksi|°F|in·lbf)?\)|(?<=\()[\d.]+ lbf; "
    r"| left\([^()]*right\)"  # at the end of an equation
)
#: A quantity in SI without inches behind it.
ALONE = re.compile(r"(?<![\w.(])[\d.]+ (?:mm|kN|N|MPa|N·m|°C|degC)(?![\w/·])(?! \()")
#: Calls that show what others have written: sources and clauses, what the user has typed.
QUOTING = (
    "inputs.ledger_table", "inputs.how_known_passage", "review.disagreements_table",
    "review.statements_table", "comparison.dispositions_table",
    "inputs.request_table", "inputs.scope", "inputs.change_record",
)  # fmt: skip
#: Equations are in mm, N and MPa throughout.
EQUATIONS = "equations."
#: A torque wrench is classed by its range in N·m (ISO 6789-1).
DESIGNATIONS = re.compile(r"wrench, (?:above|up to) 10 N·m")
#: Standard drills are other ones in inches, not the same ones converted.
DRILLS = re.compile(r"drills within the limits: .*")

THIN = {
    "boss_diameter": "12.6 mm", "edge_distance": "13.5 mm", "tool_set_down": "2.4 mm",
}  # fmt: skip
LOCKING = {
    "insert_kind": "locking", "insert_length": "13 mm", "tap": "bottoming",
    "hole_depth": "22.2 mm", "screw_reach": "14.5 mm", "bush_diameter_thin": "9 mm",
}  # fmt: skip
#: An inch thread, whose drills, classes and torques stand in other tables.
INCH = FIVE["inch thread, locking insert, no boss"]
JOINTS = {"demo": {}, "thin": THIN, "locking": LOCKING, "inch": INCH}
NOTEBOOKS = ("repair_justification", "design_review", "hole_preparation", "concession_sheet")


@functools.cache
def studied(of, units):
    """Study a joint once for all notebooks, and sample once for all units: a chance knows none."""
    folder = "pull-tests-demo" if of == "pieces" else "demo-rig-plate"
    study = tr.study(demo(folder, **{**JOINTS.get(of, {}), "report_units": units}))
    if units != "SI":
        vars(study)["chances"] = studied(of, "SI").chances
    return study


#: Calls that take long and say of a joint only numbers: shown of the demonstration alone.
LONG = ("chance.", "review.all_parents_figure")


def left_in_si(notebook, study, *, without="\n"):
    return [
        (call, text)
        for call, output in shown(notebook, study, without=without)
        if not call.startswith((*QUOTING, EQUATIONS))
        for text in words(output)
        if SI.search(DESIGNATIONS.sub("", text))
    ]


@pytest.mark.parametrize("notebook", NOTEBOOKS)
@pytest.mark.parametrize("joint", JOINTS)
def test_a_report_in_inches_says_nothing_in_si(notebook, joint):
    without = "\n" if joint == "demo" else LONG
    assert left_in_si(notebook, studied(joint, "inch"), without=without) == []


def test_a_warm_case_in_inches_says_nothing_in_si():
    study = tr.study(demo(report_units="inch", temperature="60 degC"))
    assert left_in_si("repair_justification", study, without=LONG) == []
    assert any("140 °F" in text for _, each in shown("repair_justification", study, without=LONG)
               for text in words(each))  # fmt: skip


def test_the_evidence_in_inches_says_nothing_in_si():
    assert left_in_si("pull_test_evidence", studied("pieces", "inch")) == []


def without_inches(text):
    """What stands in SI; an equation may break elsewhere where its result is longer."""
    return INCHES.sub("", DRILLS.sub("", text)).replace("  &= ", " = ")


@pytest.mark.parametrize("notebook", NOTEBOOKS)
def test_a_report_in_both_says_what_one_in_si_says_with_inches_behind(notebook):
    one, other = (shown(notebook, studied("thin", each)) for each in ("SI", "both"))
    for (call, si), (_, both) in zip(one, other, strict=True):
        if "inputs_table" in call:  # it shows the key report_units
            continue
        expected, found = ([without_inches(text) for text in words(each)] for each in (si, both))
        assert found == expected, call
        if call.startswith((*QUOTING, EQUATIONS)):
            continue
        drawn = (
            {each.get_text() for each in both.figure.findobj(Text)}
            if hasattr(both, "figure")
            else ()
        )
        alone = [
            text
            for text in words(both)
            if text not in drawn and ALONE.search(DESIGNATIONS.sub("", DRILLS.sub("", text)))
        ]
        assert not alone, call


def test_an_inch_report_converts_what_it_says():
    case = demo(report_units="inch")
    study = tr.study(case)
    reasons = " ".join(words(comparison.alternatives_table(study)))
    assert "1.024 in available" in reasons  # 26 mm
    drawing = comparison.section_figure(study)
    assert "engaged over 0.472 in" in drawing.alt  # 12 mm
    assert "available 0.472 in" in " ".join(words(comparison.notices(study)))


def test_the_options_are_drilled_to_the_limits_of_the_hole_sheet():
    study = tr.study(demo(report_units="both"))
    limits = words_of.limits(Range(least=8.271, most=8.536), system="both")
    assert limits in " ".join(words(comparison.alternatives_table(study, drill=True)))
    assert limits in " ".join(words(workshop.steps_table(study))).replace("**", "")


def test_a_limit_in_inches_is_never_wider_than_the_one_in_mm():
    text = words_of.limits(Range(least=8.271, most=8.536), system="inch")
    least, most = (float(each) for each in text.removesuffix(" in").split(" to "))
    assert 8.271 <= least * 25.4 < 8.271 + 0.00254
    assert 8.536 - 0.00254 < most * 25.4 <= 8.536
    # 6 / 0.1129848 = 53.104 in·lbf; turns are the same in every system.
    torque = Range(most=6.0, dimension="torque", decimals=2)
    assert words_of.limits(torque, system="both") == "6.00 N·m (53.1 in·lbf) maximum"
    turns = Range(most=3.0, dimension="number", decimals=0)
    assert words_of.limits(turns, system="inch") == "3 maximum"


def test_the_results_file_is_in_si_whatever_the_report_is_in():
    for joint, units in (("pieces", "inch"), ("demo", "both")):
        studies = (studied(joint, each) for each in ("SI", units))
        documents = [{**results(each), "case": {}, "inputs_sha256": ""} for each in studies]
        one, other = (json.dumps(each, sort_keys=True) for each in documents)
        assert one == other


def test_where_no_length_helps_it_is_said_without_one():
    """A limit of the repair; of the original hole it is only information."""
    found = tr.evaluate(demo(report_units="SI", **THIN)).facts
    said = [each for each in found if each.id == "thread_before_screw_at_any_length"]
    assert [(each.values["condition"].id, each.level) for each in said] == [
        ("original", "info"),
        ("repaired", "limit"),
    ]
    assert not any("required" in each.values for each in said)


def test_where_only_the_strongest_screw_finds_the_wall_too_weak_it_is_said():
    """The weakest screw breaks first, the strongest does not, and no length mends that."""
    found = tr.evaluate(demo(boss_diameter="17 mm", boss_support="face"))
    for state in found.states.values():
        assert state.governing_mode == "screw_tension" and math.isnan(state.required_engagement)
    said = [each for each in found.facts if each.id == "strongest_screw_not_first_at_any_length"]
    assert [each.values["condition"].id for each in said] == ["original", "repaired"]


def test_no_step_of_the_workshop_holds_a_unit_of_its_own():
    assert not [
        row["id"] for row in tables.rows("workshop_steps.csv") if re.search(r"\d mm", row["text"])
    ]


def test_an_evaluation_is_the_same_for_every_report():
    case = demo(report_units="SI")
    si, inch = tr.evaluate(case), tr.evaluate(attrs.evolve(case, report_units="inch"))
    assert si.original.pull_out == inch.original.pull_out
    assert si.facts == inch.facts


@pytest.mark.parametrize("notebook", (*NOTEBOOKS, "pull_test_evidence"))
def test_the_words_of_a_notebook_name_no_unit(notebook):
    """They are the same for every report."""
    cells = nbformat.read(ROOT / "notebooks" / f"{notebook}.ipynb", as_version=4).cells
    said = [each.source for each in cells if each.cell_type == "markdown"]
    assert not [text for text in said if SI.search(text)]
