"""The printed minimum strength of the parent is where the conclusion turns, by the study itself."""

import math
from functools import cache

import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import words
from thread_repair.report.results import results

BASE = {
    "thread": "M8x1.25", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "12 mm", "boss_diameter": "24 mm", "hole_class": "6H", "screw_class": "6g",
    "insert_hole_class": "6H", "design_load": "9 kN", "load_factor": "1.5", "yield_factor": "1.1",
}  # fmt: skip
TIGHT = {"torque": "15 N·m", "friction": "0.10 to 0.14", "tightening_tool": "torque-wrench",
         "load_share": "0.2", "design_load": "6 kN"}  # fmt: skip
CASES = {
    "a load": {},
    "a load and a torque": TIGHT,
    "an insert too short for the original": {"insert_length": "1 D", **TIGHT},
    "a torque that strips soft metal": {"parent": "unknown-magnesium", **TIGHT, "torque": "16 N·m"},
    "too weak as it is": {"parent": "unknown-magnesium", "design_load": "9 kN", "yield_factor": "2"},
    "thin boss": {"boss_diameter": "16 mm", "boss_support": "face"},
    "hot and cold": {"temperature": "100 degC", "temperature_min": "0 degC", **TIGHT,
                     "clamped_material": "screw", "design_load": "2 kN", "torque": "15 N·m"},
    "hardness": {"parent": "unknown-aluminium-casting", "parent_hardness": "HB 75"},
    "alias": {"parent": "ADC12", "casting_factor": "0.8"},
    "supplied": {"parent_tensile_strength": "250 MPa", "parent_source": "test 9 (invented)"},
    "iron": {"parent": "GG-25", "design_load": "15 kN", "screw": "12.9"},
    "inch": {"thread": "1/4-20 UNC", "screw": "J429-5", "engagement": "0.375 in", "insert_length":
             "1.5 D", "hole_class": "2B", "screw_class": "2A", "insert_hole_class": "2B",
             "design_load": "4 kN"},
    "strong screw": {"insert_length": "1.5 D", "engagement": "1.5 D", "screw": "12.9",
                         "design_load": "20 kN"},
}  # fmt: skip


@cache
def study_of(name, **changes):
    return tr.study(cases.read({**BASE, **CASES[name], **changes}))


def turned(name, factor):
    """The conclusion with the strengths of the minimum times a factor, given as measured ones."""
    whole = study_of(name)
    joint, scale = whole.evaluation.joint, factor * whole.minimum_parent.scale
    # at room temperature and before the casting factor, as a case states them
    parent = joint.parent
    shear = joint.parent_shear
    hot = shear.factors.get("temperature", 1.0) * shear.factors.get("casting", 1.0)
    given = {
        "parent_shear_strength": f"{scale * shear.value / hot!r} MPa",
        "parent_tensile_strength": f"{scale * parent.tensile!r} MPa",
        "parent_source": "invented",
        "parent_hardness": "",
    }
    if not math.isnan(parent.yield_):
        given["parent_yield_strength"] = f"{scale * parent.yield_!r} MPa"
    return study_of(name, **given).conclusion.id


@pytest.mark.parametrize("name", CASES)
def test_the_conclusion_turns_at_the_printed_minimum(name):
    found = study_of(name).minimum_parent
    assert found.outcome in ("holds", "needed"), found
    assert turned(name, 1.0) != "does_not_support"
    assert turned(name, 0.995) == "does_not_support"


def test_both_outcomes_are_there():
    found = [study_of(name).minimum_parent for name in CASES]
    assert {(x.outcome, x.fact.level) for x in found} == {("holds", "info"), ("needed", "limit")}


@pytest.mark.parametrize("name", CASES)
def test_it_agrees_with_the_conclusion_and_the_file(name):
    whole = study_of(name)
    written = results(whole, with_chances=False)["minimum_parent"]
    found = whole.minimum_parent
    assert (written["outcome"] == "holds") == (whole.conclusion.id != "does_not_support")
    assert written["scale"] == pytest.approx(found.scale)
    assert (written["scale"] <= 1) == (written["outcome"] == "holds")
    for name in ("shear", "tensile"):
        used = getattr(whole.evaluation.joint, f"parent_{name}").value
        assert written[f"{name}_MPa"] == pytest.approx(found.scale * used, rel=1e-9)
    assert written["criteria"]


def test_a_stronger_parent_that_turns_the_conclusion_is_told():
    """The boss takes so much of the screw's thread that the repair gains less by a strong parent."""
    boss = {"thread": "M20", "parent": "EN-GJL-250", "engagement": "25 mm", "insert_length": "1.5 D",
            "boss_diameter": "42 mm", "boss_support": "face", "parent_source": "invented"}  # fmt: skip

    def of(scale):
        strengths = {"parent_shear_strength": f"{scale * 260!r} MPa",
                     "parent_tensile_strength": f"{scale * 235!r} MPa"}  # fmt: skip
        return study_of("a load", **boss, **strengths)

    found = of(1.0).minimum_parent
    assert found.above == ("stripping_strength",) and 1 < found.highest < 1.2
    assert of(found.highest - 1e-3).conclusion.id != "does_not_support"
    assert of(found.highest + 1e-3).conclusion.id == "does_not_support"
    told = [words.sentence(each) for each in of(1.0).metal]
    assert any("stronger than 109 %" in each for each in told)
    assert all("even with that: stripping strength" in words.sentence(each)
               for each in of(1.2).minimum_parent.facts)  # fmt: skip
    assert len(study_of("a load").minimum_parent.facts) == 1


def test_no_strength_helps_where_another_criterion_refuses():
    near = study_of("a load", edge_distance="8 mm")
    assert near.minimum_parent.outcome == "none"
    assert near.minimum_parent.criteria == ("edge_distance",)
    overtightened = study_of("a load and a torque", edge_distance="8 mm", torque="40 N·m")
    assert {"edge_distance", "margin_screw_tension"} <= {*overtightened.minimum_parent.criteria}
    soft = study_of("an insert too short for the original", edge_distance="8 mm")
    assert soft.minimum_parent.criteria == ("edge_distance",)  # a stronger parent cures the other
    screw = study_of("a load", design_load="30 kN")
    assert screw.minimum_parent.outcome == "none"
    assert "margin_screw_tension" in screw.minimum_parent.criteria
    assert "screw margin" in words.sentence(screw.minimum_parent.fact)


def test_a_comparison_alone_holds_at_any_strength():
    whole = study_of("a load", design_load="", load_factor="", yield_factor="", insert_length="2 D")
    assert whole.minimum_parent.outcome == "no_load"
    light = study_of("a load", design_load="100 N", insert_length="2 D").minimum_parent
    assert (light.outcome, light.scale) == ("far", 0.05)


@pytest.mark.parametrize("load", ["14 kN", "18 kN"])
def test_a_loss_on_record_that_turns_the_conclusion_is_told(load):
    """No casting factor is stated; 356.0-T6 keeps 0.733 of its bar, with which this may not hold."""
    bar = study_of("alias", casting_factor="", design_load=load, insert_length="2 D")
    cut = study_of("alias", casting_factor="0.7333", design_load=load, insert_length="2 D")
    assert bar.conclusion.id != "does_not_support"
    told = [each for each in bar.metal if each.id == "casting_turns"]
    assert bool(told) == (cut.conclusion.id == "does_not_support") == (load == "18 kN")
    assert not [each for each in cut.metal if each.id == "casting_turns"]


def test_what_is_printed_is_rounded_up():
    found = study_of("a load").minimum_parent
    printed = found.fact.values["shear"].value
    assert found.shear <= printed < found.shear + 0.1


@pytest.mark.parametrize("name", ["hot and cold", "alias"])
def test_the_conclusion_turns_at_the_printed_hardness(name):
    brinell = study_of(name).minimum_parent.brinell
    for share, holds in ((1.05, True), (0.9, False)):
        found = study_of(name, parent_hardness=f"HB {share * brinell}")
        assert (found.conclusion.id != "does_not_support") == holds


def test_a_strength_measured_hot_has_no_hardness():
    for at, known in (("100 degC", False), ("35 degC", True)):
        changes = {"temperature": at, "parent_strength_temperature": at}
        found = study_of("supplied", **changes, parent_shear_strength="150 MPa").minimum_parent
        assert math.isnan(found.brinell) != known


def test_a_hole_that_holds_no_insert_says_nothing_of_a_repaired_strength():
    """Torn open by 40 kN; the margins of the insert are those of sound metal, which is not there."""
    lost = {"hole_condition": "insert-pulled-out", "damaged_diameter": "9.8 mm"}
    found = study_of("a load and a torque", design_load="40 kN", **lost)
    assert found.minimum_parent.criteria == ("hole_as_found",)


def test_a_conclusion_that_turns_twice_within_few_per_cent_is_found():
    """Here it holds from 1.2461 to 1.2958 of the strength alone: margin below, strength above."""
    found = tr.study(cases.read({
        "thread": "M4x0.5", "parent": "EN-GJS-500-7", "screw": "10.9", "engagement": "2.98 mm",
        "insert_length": "8.0 mm", "tolerance_position": "mean", "casting_factor": "0.65",
        "screw_reach": "8.677 mm", "boss_diameter": "6.17 mm", "boss_support": "face",
        "edge_distance": "12.67 mm", "design_load": "455.6 lbf", "load_factor": "1.25",
        "yield_factor": "1.25",
    })).minimum_parent  # fmt: skip
    assert (found.outcome, found.criteria) == ("needed", ("margin_parent_thread_strip",))
    assert found.scale == pytest.approx(1.2461, abs=5e-5)
