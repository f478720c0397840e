"""The hole on the bench: what a case may say of it, and that everybody is told."""

from pathlib import Path

import numpy as np
import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import threads, words
from thread_repair.cli import main
from thread_repair.errors import InputError
from thread_repair.facts import Term
from thread_repair.report.blocks import (
    chance,
    comparison,
    conclusion,
    equations,
    inputs,
    part,
    tightening,
    workshop,
)
from thread_repair.report.consistency import of_results
from thread_repair.report.results import results
from thread_repair.report.terminal import summary
from thread_repair.study.shown import criterion_row
from thread_repair.tables import rows
from thread_repair.workshop.spoiled import findings, spoiled

NEEDED = {
    "thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "1.5 D",
}  # fmt: skip
CONDITIONS = ("stripped", "worn", "oversize", "insert-pulled-out", "cracked")


def study(**changes):
    return tr.study(cases.read({**NEEDED, **changes}))


def test_every_condition_has_its_action_in_the_one_table():
    assert set(CONDITIONS) <= set(findings())


def test_every_family_of_metals_is_welded_or_not():
    unidentified = tr.materials.unidentified()
    families = {each.family for each in (*tr.materials.parents(), *unidentified)}
    assert {row["family"] for row in rows("weld_repair.csv")} == families
    # What nobody has identified is not said to be weldable.
    assert not {row["family"] for row in rows("weld_repair.csv", welded="yes")} & {
        each.family for each in unidentified
    }


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"hole_condition": "oversize"}, "hole_condition: oversize, but no damaged_diameter"),
        (
            {"hole_condition": "insert-pulled-out", "damaged_diameter": "8.3 mm"},
            "damaged_diameter: '8.3 mm' is not larger than the minor diameter of the insert hole",
        ),
        (  # with a hole measured wider than the class lets it be
            {
                "hole_condition": "insert-pulled-out",
                "damaged_diameter": "8.55 mm",
                "tolerance_position": "measured",
                "measured_insert_hole_minor": "8.6 mm",
            },
            "damaged_diameter: '8.55 mm' is not larger .* insert hole, 8.600 mm",
        ),
        (
            # It was met by every insert hole: "3.00 mm, 10.6 mm maximum, yes".
            {"damaged_diameter": "6.647 mm"},
            "damaged_diameter: '6.647 mm' is not larger than the basic minor diameter of the hole, 6.647",
        ),
        ({"damaged_diameter": "80 mm"}, "damaged_diameter: '80 mm' is no diameter of M8x1.25"),
        ({"hole_condition": "pulled out"}, "hole_condition: 'pulled out' is not one of"),
    ],
)
def test_what_cannot_be(changes, says):
    with pytest.raises(InputError, match=says):
        study(**changes)


def test_nothing_open_is_said_of_a_repaired_thread_that_nothing_holds():
    told = study(hole_condition="cracked", tolerance_position="basic").open_points
    assert not [each.id for each in told if "repaired" in each.values]


@pytest.mark.parametrize("condition", ["insert-pulled-out", "cracked"])
def test_everybody_is_told(condition):
    whole = study(hole_condition=condition)
    assert whole.conclusion.id == "does_not_support"
    sheet = str(conclusion.in_short(whole).data)
    assert "not to be used" in sheet
    assert "No steps are given" in str(workshop.steps_table(whole).data)
    assert "**Hole as found.**" in str(conclusion.as_found(whole).data)
    said = [words.sentence(each) for each in whole.hole]
    assert all(text.split(".")[0] in " ".join(summary(whole).split()) for text in said)
    # nothing says that the repair is stronger than the original in a hole that has no sound metal
    assert not [each for each in whole.statements if each.id.startswith("repair_")]


def test_the_usual_action_is_no_order_where_the_repair_is_not_supported():
    said = {c: study(hole_condition=c).hole[0] for c in ("worn", "cracked")}
    assert said["worn"].id == "hole_found_usual" and said["worn"].level == "info"
    assert said["cracked"].id == "hole_found" and said["cracked"].level == "limit"


def test_the_largest_missing_metal_is_not_rounded_up():
    """Metal missing up to 8.449 mm stays in a hole of 8.446 mm, which is not 8.45 mm."""
    size = {"tolerance_position": "measured", "measured_insert_hole_minor": "8.446 mm"}
    whole = study(**NEEDED, **size, hole_condition="worn", damaged_diameter="8.449 mm")
    rows = [criterion_row(x, "SI") for x in whole.criteria if x.id == "hole_as_found"]
    assert rows[0][1:3] == ("8.446 mm maximum", "8.449 mm")


def test_a_usual_hole_is_not_spoken_of():
    whole = study()
    assert whole.hole == ()
    assert "Hole as found" not in str(conclusion.as_found(whole).data)
    assert "not to be used" not in str(conclusion.in_short(whole).data)
    assert {each.id for each in whole.criteria} & {"hole_as_found", "no_crack"} == set()
    kinds = {each.kind for each in whole.alternatives}
    assert kinds & {"oversize-insert", "next-insert", "weld-and-retap"} == set()


LOST = {
    "thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "1.5 D", "hole_condition": "insert-pulled-out", "damaged_diameter": "9.8 mm",
    "design_load": "4 kN", "torque": "15 N·m", "friction": "0.10 to 0.14", "edge_distance": "20 mm",
}  # fmt: skip


@pytest.mark.parametrize(
    ("condition", "why"), [("insert-pulled-out", "hole_spoiled"), ("cracked", "hole_cracked")]
)
def test_why_a_lost_hole_is_refused_is_a_limit(condition, why):
    said = study(**LOST | {"hole_condition": condition}).statements
    assert said[1].id == why and {each.level for each in said} == {"limit"}


def test_a_lost_hole_has_no_strength_of_the_repaired_condition():
    found = study(**LOST)
    assert not found.holds_insert and found.confidence == ()
    assert not [each for each in found.limitations if "Repaired hole" in words.sentence(each)]
    tight = study(**LOST | {"torque": "40 N·m", "insert_length": "1 D"})
    assert not [each for each in tight.limitations if "Repaired hole" in words.sentence(each)]
    assert [each for each in tight.limitations if "Original hole" in words.sentence(each)]
    assert "No tightening torque is given" in tightening.line(tight).data
    untold = study(**LOST | {"torque": "", "friction": ""})  # not: take it from the drawing
    assert "No tightening torque is given" in tightening.line(untold).data
    assert "Original thread" in tightening.warnings(tight).data
    assert "Friction" not in tightening.warnings(tight).data
    assert [str(row[0]) for row in comparison.strength_table(tight).rows] == ["original thread"]
    assert "was to be repaired with" in conclusion.conclusion(tight).data
    asked = " ".join(str(row) for row in inputs.description_table(tight).rows)
    assert "gives no steps" in asked and "To be made" not in asked
    weak = study(**NEEDED | {"insert_length": "1 D", "engagement": "16 mm"})
    assert weak.holds_insert and weak.conclusion.failed
    asked = " ".join(str(row) for row in inputs.description_table(weak).rows)
    assert "gives no steps" in asked and "To be made" not in asked
    assert "Repaired thread" not in tightening.warnings(tight).data
    assert {each.state for each in found.margins} == {"original"}
    of_thread = [each for each in found.criteria if each.id.startswith(("margin", "stripping"))]
    assert len(of_thread) > 5
    assert {each.met for each in of_thread} == {None} == {each.repaired for each in of_thread}
    assert found.conclusion.failed == ((found.conclusion.failed[0][0], "hole_as_found"),)
    assert found.conclusion.adequate is None and not found.conclusion.as_strong
    document = results(found, with_chances=False)
    after = document["states"]["repaired"]
    assert not after["assessed"] and after["pull_out_N"] is None and after["modes"] == []
    assert document["comparison"]["pull_out_ratio"] is None
    assert document["states"]["original"]["pull_out_N"] > 0
    assert list(of_results(document)) == []
    before, after = document["tightening"]["states"].values()
    assert all(each is not None for each in before["margins"].values())
    assert set(after["margins"].values()) == {None} and before["strip_torque_min_Nm"] > 0
    for key in ("strip_torque_min_Nm", "strip_torque_max_Nm", "window_min_Nm", "window_max_Nm",
                "set_min", "set_max"):  # fmt: skip
        assert after[key] is None
    (window,) = (each for each in document["criteria"] if each["id"] == "torque_window")
    assert window["values"] == {"set": "torque"} and after["preload_max_N"] > 0


def numbers_in(data):
    inner = data.values() if isinstance(data, dict) else data if isinstance(data, list) else ()
    own = isinstance(data, int | float) and not isinstance(data, bool)
    return [data] * own + [number for each in inner for number in numbers_in(each)]


def test_no_number_of_a_lost_hole_is_that_of_sound_metal():
    document = results(study(**LOST))
    for name in ("certified", "collapse", "sharing", "load_slip"):
        assert numbers_in(document[name]["original"]) and not numbers_in(document[name]["repaired"])
    assert not numbers_in(document["comparison"])
    assert all("ratio" not in each["values"] for each in document["criteria"])
    found = document["reliability"]
    assert found["drivers"] == found["facts"] == []
    assert {each["quantity"] for each in found["quantiles"]} == {
        "original strip load", "screw tension", "demand"
    }  # fmt: skip
    for key in ("probabilities", "under_preload"):
        of = {("repaired" in name): [] for name in found[key]}
        for name, each in found[key].items():
            of["repaired" in name] += numbers_in(each)
        assert of[False] and not of[True]
    sound = results(study(**LOST | {"hole_condition": "stripped", "damaged_diameter": ""}))
    assert numbers_in(sound["certified"]["repaired"]) and sound["reliability"]["drivers"]


def test_a_line_that_names_a_lost_hole_says_what_instead_and_no_drill(capsys):
    line = "M8 6061-T6 8.8 1.5D 12 mm hole_condition=insert-pulled-out damaged_diameter=9.8"
    assert main(["ask", line]) == 0
    heads = [each.split()[0] for each in capsys.readouterr().out.splitlines() if each[0] != " "]
    assert heads[2:5] == ["Conclusion", "Hole", "Instead"]


def test_a_worn_thread_is_no_measure_of_what_the_repair_needs():
    worn = LOST | {
        "hole_condition": "worn", "damaged_diameter": "", "tolerance_position": "measured",
        "measured_hole_minor": "7.10 mm", "measured_hole_pitch": "7.40 mm",
    }  # fmt: skip
    found = study(**worn)
    (strength,) = (each for each in found.criteria if each.id == "stripping_strength")
    # FED-STD-H28/2B area of M8 at its limits, 202 mm2, times 27 ksi (MIL-HDBK-5J)
    assert strength.required.value == pytest.approx(37593.3, rel=1e-4)
    assert strength.original.value < strength.required.value and strength.met_before is False
    printed = {row[1]: row[2] for row in conclusion.criteria_table(found).rows}
    assert "(original hole at the limits of its class)" in printed["Thread-stripping strength"]
    assert found.statements[2].id == "repair_stronger_than_measured"
    short = study(**worn | {"insert_length": "10.6 mm"})
    # 35.6 kN of the worn thread is less than such an insert holds, 37.6 kN of the sound one is more
    assert 35.6e3 < short.evaluation.repaired.pull_out < 37.5e3
    assert short.conclusion.failed[0][1] == "stripping_strength"
    assert short.minimum_parent.outcome == "needed"


def test_a_worn_thread_needs_the_edge_of_its_own_insert():
    thread = threads.thread("M8")
    assert spoiled(thread, "worn", edge_distance=14.5).option == "insert"
    assert spoiled(thread, "worn", edge_distance=14.4).option == "refer"
    assert "is not stated" in spoiled(thread, "worn").reason
    assert "not stated" not in spoiled(thread, "worn", edge_distance=14.4).reason


@pytest.mark.parametrize(
    ("damage", "action"), [("8.5 mm", "Drill, tap and install"), ("8.6 mm", "an oversize insert")]
)
def test_an_oversize_hole_that_the_new_one_removes_takes_the_insert(damage, action):
    # largest minor diameter of an M8 insert hole 6H: 8.536 mm
    found = study(**LOST | {"hole_condition": "oversize", "damaged_diameter": damage})
    assert found.holds_insert == (damage == "8.5 mm")
    told = words.sentence(found.hole[0])
    assert "Hole oversize" in told and action in told


def said(shown):
    return shown.data.replace("\\", "")


NOT_THERE = "Repaired: this insert in sound metal, which the hole as found does not provide."


def test_every_picture_and_table_of_a_lost_hole_says_that_its_insert_is_not_there():
    found, sound = (
        study(**LOST),
        study(**LOST | {"hole_condition": "stripped", "damaged_diameter": ""}),
    )
    for make in (
        comparison.modes_table, comparison.methods_table, comparison.budget_table,
        comparison.strip_load_figure, comparison.section_figure, comparison.effects_table,
    ):  # fmt: skip
        assert str(make(found).caption).endswith(NOT_THERE)
        assert NOT_THERE not in str(make(sound).caption)
    assert NOT_THERE in said(chance.how_sure(found))
    assert NOT_THERE in said(equations.strength(found))


def test_pictures_and_tables_by_hand_say_so_too():
    """Without the caption and the text of a report."""
    found, sound = (
        study(**LOST),
        study(**LOST | {"hole_condition": "stripped", "damaged_diameter": ""}),
    )
    for name in ("section", "strip_load", "methods", "sharing", "load_slip", "wall", "loads"):  # fmt: skip
        for each, told in ((found, True), (sound, False)):
            axes = np.ravel(np.asarray(getattr(each.plot, name)(), dtype=object))[-1]
            texts = " ".join([axes.get_xlabel(), *(text.get_text() for text in axes.texts)])
            assert (NOT_THERE in " ".join(texts.split())) is told, name
    assert found.tables.effects.ratio.isna().all() and sound.tables.effects.ratio.notna().all()
    assert set(found.tables.required.state) == {"original"} < set(sound.tables.required.state)
    assert "in sound metal" in repr(found.evaluation)


def test_nobody_is_told_to_drill_for_the_insert_that_is_replaced():
    """The steps of such a sheet remove the old insert and drill nothing."""
    drill = words.sentence(study(hole_condition="worn").hole[0])
    for condition in ("worn", "oversize"):
        found = study(hole_condition=condition, old_insert="yes", damaged_diameter="8.3 mm")
        assert found.holds_insert and "drill" not in [step.id for step in found.sheet.steps]
        assert words.sentence(found.hole[0]).split(": ")[1] != drill.split(": ")[1]
        assert found.hole[0].id.endswith("usual")
    assert "worn" not in [
        each.topic for each in study(hole_condition="worn", old_insert="yes").sheet.if_spoiled
    ]


@pytest.mark.parametrize("parent", ["EN-AC-42100-T6", "356.0-T6-sand", "AZ91D"])
def test_no_fact_states_a_strength_of_an_insert_that_nothing_holds(parent):
    """What a casting or a boss takes away is told of both conditions in one sentence."""
    joint = {"parent": parent, "boss_diameter": "18 mm", "boss_support": "", "casting_factor": ""}
    sound, lost = study(**joint), study(**{**LOST, **joint})
    both = {each.id for each in sound.facts if "repaired" in each.values}
    assert {each[:5] for each in both} >= {"boss_", "cast_"}
    assert not [each.id for each in lost.facts if "repaired" in each.values]


def test_letter_board_and_sheet_of_a_lost_hole_say_what_instead():
    found = study(**LOST)
    assert "M10x1.5" in said(conclusion.answer(found))
    shown = conclusion.numbers(found).rows
    assert [row[-1] for row in shown] == ["not assessed", "no"]
    assert "does not support" in said(workshop.record_table(found))
    options = [str(row[0]) for row in conclusion.options_table(found).rows]
    assert len(options) == 3 and "Wire thread insert: 1.5 D, 12 mm" in options
    assert all(row[2] == "–" for row in conclusion.modes_table(found).rows)
    assert "cannot take this insert" in said(conclusion.conditions(found))
    assert "Which method governs" not in said(conclusion.decisions(found))


def test_the_letter_lists_each_criterion_that_refuses_and_the_minimum_margin():
    found = study(edge_distance="9 mm", design_load="40 kN", load_factor="1.5")
    told = " ".join(str(row) for row in conclusion.numbers(found).rows)
    names = [words.term(Term("criterion", name)) for _, name in found.conclusion.failed]
    assert "edge distance" in names and "Edge distance in diameters" in told
    assert "margin_screw_tension" in dict(map(reversed, found.conclusion.failed))
    assert told.count("Margin of safety,") == 1


def test_a_part_with_a_lost_hole_gives_it_no_strength_but_that_of_the_original():
    whole = {"hole_condition": "", "damaged_diameter": "", "torque": "", "friction": ""}
    holes = [{"name": "A", **whole}, {"name": "B"}]
    found = tr.submission({**LOST, "serials": "1, 2"}, holes)
    states = {(str(row[0]), str(row[1])) for row in part.modes_table(found).rows}
    both = ("original thread", "repaired thread")
    assert states == {("A", each) for each in both} | {("B", both[0])}
    found = tr.submission({**LOST, "serials": "1, 2"}, [{**holes[0], "torque": "20 N·m",
                                                         "friction": "0.10 to 0.14"}, holes[1]])  # fmt: skip
    for hole, known in zip(found.holes, (True, False), strict=True):
        rows = part.preload_table(hole.study).rows
        assert [row[-1] != "–" for row in rows] == [known, known] and rows[0][1] != "–"
    assert part.preload_table(tr.submission(LOST, [holes[0]]).studies[0]).data == ""
    told = part.open_points(found).data
    of_all, of_one = told.split("Hole A: ")
    assert "Friction" in of_one and "Friction" not in of_all and "All holes: " in of_all
    assert "The limits" in of_all and "The limits" not in of_one


def test_page_one_of_a_lost_hole_limits_no_strength_that_is_not_assessed():
    short = {**LOST, "insert_length": "1 D"}
    assert said(comparison.limits(study(**short))) == ""
    sound = study(**short | {"hole_condition": "stripped", "damaged_diameter": ""})
    assert "the parent thread strips before the screw fails" in said(comparison.limits(sound))


def test_page_one_names_the_temperature_and_whose_strengths_are_used():
    hot = tr.study(tr.load(Path(__file__).parent / "jobs" / "hot-die-casting"))
    assert "120 °C" in said(conclusion.loads(hot))
    assert "test report TR-7 are used" in said(conclusion.as_found(hot))
    assert "°C" not in said(conclusion.loads(study()))


def test_tables_of_inputs_and_sizes_speak_as_a_drawing_does():
    hot = study(temperature="100 degC")
    rows = [*inputs.inputs_table(hot).rows, *inputs.assumed_table(hot).rows]
    assert ("Temperature", "100 degC", "100 °C") in rows
    assert ("Material condition", "minimum-material") in rows
    assert "material condition: minimum material" in comparison.sizes_table(hot).caption


def test_each_action_stands_with_its_own_notes():
    """Who reads the second row alone would weld a zinc casting: the note stood at the first."""
    found = study(parent="ZP5", edge_distance="10 mm")
    told = [each for each in found.sheet.if_spoiled if each.option == "weld-and-retap"]
    of_all = (row for row in workshop.spoiled_rows(found) if "Weld and retap" in row[1])
    shown = [(name, text) for names, text in of_all for name in names.split(" / ")]
    assert len(shown) == len(told) >= 2
    for _, text in shown:
        assert "not suitable for welding" in text
        assert "Refer the part to the drawing authority instead." in text
    # and page 1, of the hole as found
    torn = {"hole_condition": "insert-pulled-out", "damaged_diameter": "9.8 mm"}
    lost = study(parent="ZP5", edge_distance="10 mm", **torn)
    assert "weld_not_permitted" in {each.id for each in lost.hole}
