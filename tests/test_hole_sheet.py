"""From a case file to the workshop sheet: keys, refusals, cautions, results, blocks, drawing."""

import json
from pathlib import Path

import pytest
from drawn import assert_clear

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import cli, words
from thread_repair.errors import InputErrors
from thread_repair.facts import Term, length
from thread_repair.report.blocks import conclusion, workshop
from thread_repair.report.results import results

DEMO = Path(__file__).parent.parent / "reports" / "demo-rig-plate" / "case.yaml"
UNC = {
    "thread": "1/4-20 UNC", "screw": "J429-5", "engagement": "0.25 in", "hole_depth": "22 mm",
    "screw_reach": "0.4 in", "hole_class": "2B", "screw_class": "2A", "insert_hole_class": "2B",
    "boss_diameter": "", "edge_distance": "",
    "design_load": "2 kN", "torque": "7 N·m",
}  # fmt: skip
BSF = {
    "thread": "3/8 BSF", "engagement": "10 mm", "hole_kind": "through", "hole_depth": "20 mm",
    "screw_reach": "18 mm", "hole_class": "medium", "screw_class": "medium",
    "insert_hole_class": "medium", "boss_diameter": "", "edge_distance": "",
}  # fmt: skip


def demo(**changes):
    return cases.read({**cases.load_text(DEMO), **changes})


def refused(**changes):
    with pytest.raises(InputErrors) as raised:
        demo(**changes)
    return raised.value.faults


def write(folder, **changes):
    entered = {**cases.load_text(DEMO), **changes}
    file = folder / "case.yaml"
    file.write_text("".join(f"{key}: {json.dumps(value)}\n" for key, value in entered.items()))
    return file


# ------------------------------------------------------------------------------ impossible cases

IMPOSSIBLE = {
    "blind hole too shallow for any tap": (
        {"hole_depth": "10 mm"},
        "hole_depth: '10 mm' is too shallow for an insert of 12 mm; expected at least 17 mm",
    ),
    "blind hole too shallow for the tap": ({"hole_depth": "20 mm"}, "use tap: bottoming"),
    "through hole in a thin part": (
        {"hole_kind": "through", "hole_depth": "9 mm"},
        "less than the insert's length of 12 mm; take an insert of 1 D",
    ),
    "fitting tool by an old word": (
        {"fitting_tool": "carrier-fed"},
        "fitting_tool: 'carrier-fed' is no longer used; write 'powered'",
    ),
    "finish need by an old word": (
        {"finish_need": "anti-seize"},
        "finish_need: 'anti-seize' is no longer used; write 'galling'",
    ),
    "shims that are none": (
        {"tool_set_down": "2.4 mm", "shim_sizes": "0.5 mm, 0"},
        "expected at most 12 thicknesses above zero",
    ),
    "screw too short for the lock": (
        {"insert_kind": "locking", "screw_reach": "9 mm"},
        "10.06 mm is needed, 1.06 mm more; take a longer screw or a shorter insert",
    ),
    "screw too short for the insert": (
        {"screw_reach": "2 mm"},
        "screw_reach: 2 mm is too short to engage the insert",
    ),
    "screw meets the bottom": ({"screw_reach": "26 mm"}, "take a shorter screw or deepen the hole"),
    "spiral point in a blind hole": (
        {"tap_style": "spiral-point"},
        "tap_style: tap 'spiral-point' is never used in a blind hole",
    ),
    "two words for the tap": (
        {"tap_style": "plug", "tap": "bottoming"},
        "tap_style: 'plug' given together with tap: bottoming",
    ),
    "unknown tap": ({"tap_style": "spiral"}, "did you mean 'spiral-point' or 'spiral-flute'"),
    "unknown NO-GO rule": (
        {"no_go_rule": "four-turns"},
        "no_go_rule: unknown NO-GO rule 'four-turns'; did you mean 'two-turns' or 'three-turns'?",
    ),
    "wire that does not bear the service": (
        {"environment": "sea air"},
        "insert_wire: insert wire 'S30200' is subject to pitting in salt water; 'S31600' is suitable",
    ),
    "unknown environment": (
        {"environment": "laboratory"},
        "environment: unknown environment 'laboratory'; expected one of dry, damp, salt water",
    ),
    "tool that does not go deep enough": (
        {"tool_set_down": "0.2 mm"},
        "tool_set_down: 0.2 mm without shims is less than the minimum set-down of 0.9375 mm",
    ),
    "unknown hazard": ({"hazards": "thorium, asbestos"}, "hazards: unknown hazard 'asbestos'"),
    "unknown regime": ({"regime": "rail"}, "regime: 'rail' is not one of general, aircraft"),
}


@pytest.mark.parametrize(("changes", "says"), IMPOSSIBLE.values(), ids=IMPOSSIBLE)
def test_an_impossible_hole_gets_one_sentence_and_exit_2(tmp_path, capsys, changes, says):
    file = write(tmp_path, **changes)
    assert cli.main(["evaluate", str(file)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err and len(err.splitlines()) == 1, err
    assert [path.name for path in tmp_path.iterdir()] == ["case.yaml"]


def test_every_fault_of_the_hole_is_told_at_once():
    found = refused(no_go_rule="four", fitting_tool="glue", hazards="asbestos")
    assert [text.partition(":")[0] for text in found] == ["fitting_tool", "no_go_rule", "hazards"]


def test_the_report_of_an_impossible_hole_writes_nothing(tmp_path, capsys):
    file = write(tmp_path, tap_style="spiral-point")
    assert cli.main(["report", str(file), "--notebook", "hole_preparation"]) == 2
    said = capsys.readouterr().err
    assert "never used in a blind hole" in said and len(said.splitlines()) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["case.yaml"]


# ---------------------------------------------------------------------------------- what is chosen


def test_results_hold_the_printed_depths_of_m8():
    """The example of ASME B18.29.2M-2005 (31st handbook p. 1746): M8x1.25 x 12, 23.5 deep."""
    found = results(demo(), with_chances=False)["workshop"]
    assert (found["drill_depth_mm"], found["drill_depth_plug_mm"]) == (23.5, 23.5)
    assert (found["drill_depth_bottoming_mm"], found["full_thread_min_mm"]) == (17.0, 13.25)
    assert (found["drill_min_mm"], found["drill_max_mm"]) == (8.271, 8.536)
    assert (found["set_down_min_mm"], found["set_down_max_mm"]) == (0.9375, 1.875)
    assert (found["no_go_rule"], found["set_down_rule"]) == ("three-turns", "standard")
    assert (found["no_go_turns_max"], found["screw_reach_better_mm"]) == (3, 13.25)
    assert (found["tap"], found["fitting_tool"]) == ("spiral-flute", "hand-guided")
    assert found["hole_class"] == "6H"


def test_a_bottoming_tap_takes_the_shallow_hole():
    found = results(
        demo(tap="bottoming", hole_depth="18 mm", screw_reach="14 mm"), with_chances=False
    )["workshop"]
    assert (found["drill_depth_mm"], found["tap"]) == (17.0, "roughing-then-bottoming")


def test_a_through_hole_has_no_drilled_depth():
    found = results(demo(hole_kind="through"), with_chances=False)["workshop"]
    depths = [value for key, value in found.items() if key.startswith("drill_depth")]
    assert depths == [None, None, None]
    # not L + P: the thinnest part accepted, 13.5625 mm, less its far countersink
    assert found["full_thread_min_mm"] == 13.5625 - 0.625


@pytest.mark.parametrize("thickness", ["", "12 mm", "13.5 mm", "13.9 mm", "26 mm"])
@pytest.mark.parametrize("reach", ["", "11 mm"])
def test_the_thinnest_part_accepted_has_room_for_the_full_thread_asked_for(thickness, reach):
    """M8, 12 mm: L + P is 13.25 mm, a countersink on the far side up to 0.625 mm deep."""
    case = demo(hole_kind="through", hole_depth="", part_thickness=thickness, screw_reach=reach,
                engagement_available="", engagement="10 mm")  # fmt: skip
    found = results(case, with_chances=False)
    part, thread = (
        found["workshop"][name] for name in ("part_thickness_min_mm", "full_thread_min_mm")
    )
    assert thread <= min(part - 0.625, 13.25) + 1e-9
    assert thread >= found["states"]["repaired"]["engagement_mm"]


def test_sheet_and_strength_use_one_wire_where_the_case_names_none():
    plain = demo(insert_wire="")
    assert (
        results(plain, with_chances=False)["workshop"]["wire"]
        == tr.evaluate(plain).joint.wire.id
        == "S30200"
    )
    marine = {"insert_wire": "", "environment": "marine"}
    assert "give insert_wire_strength with insert_wire_source" in refused(**marine)[0]
    at = {"temperature": "430 degC", "parent_strength_temperature": "430 degC"}
    measured = {"parent_shear_strength": "60 MPa", "parent_tensile_strength": "90 MPa"}
    hot = {"insert_wire": "", "parent_source": "test 9 (invented)", **at, **measured}
    assert any("wire N07750: no source" in each for each in refused(**hot))
    assert "insert_wire_source" in refused(**marine, insert_wire_strength="900 MPa")[0]
    known = demo(**marine, insert_wire_strength="900 MPa", insert_wire_source="certificate 12")
    joint = tr.evaluate(known).joint
    assert results(known, with_chances=False)["workshop"]["wire"] == joint.wire.id == "S31600"
    strong = tr.evaluate(plain).joint
    assert joint.wire_shear.value / strong.wire_shear.value == pytest.approx(900 / 1035)
    assert joint.wire_shear.references[0].clause == "certificate 12"


def test_the_case_names_what_else_the_sheet_decides():
    made = cases.sheet(
        demo(tap_style="plug", fitting_tool="hand", tool_set_down="2.6 mm", magnetic="non-magnetic",
             shim_sizes="0.5 mm, 0.25 mm",
             insert_wire="", finish_need="corrosion", insert_finish="", no_go_rule="two-turns",
             set_down_rule="quarter-to-half-turn", insert_wire_strength="900 MPa",
             insert_wire_source="certificate 12")
    )  # fmt: skip
    chosen = {topic: each.option for topic, each in made.choices.items()}
    assert (chosen["tap"], chosen["fitting_tool"]) == ("straight-flute", "hand")
    assert chosen["wire"] == "C51900"
    assert chosen["finish"] not in ("plain", "")
    assert made.no_go.most == 2
    # 2.6 mm less 4 x 0.5 mm: 0.6 mm, within 0.3125 to 0.625.
    (shims,) = [step.values["shims"] for step in made.steps if step.id == "shims"]
    assert shims == (length(0.5),) * 4


def test_prevailing_torque_of_the_case_goes_before_the_table():
    for changes, most in (({}, 6.0), ({"prevailing_torque": "4 N·m"}, 4.0)):
        made = cases.sheet(demo(insert_kind="locking", **changes))
        (line,) = [line for line in made.record if line.id == "prevailing_torque"]
        assert line.values["limit"].most == most


CAUTIONS = {
    "magnesium-fire": {"parent": "AZ91D"},
    "magnesium-insert": {"parent": "AZ91D", "old_insert": "yes"},
    "lock-unlubricated": {"insert_kind": "locking"},
    "lock-critical": {"insert_kind": "locking", "critical": "yes"},
    "cadmium": {"insert_finish": "cadmium"},
    "beryllium": {"hazards": "beryllium"},
    "thorium": {"hazards": "beryllium, thorium"},
    "approval-pressure": {"regime": "pressure"},
    "approval-aircraft": {"regime": "aircraft"},
}


@pytest.mark.parametrize(("caution", "changes"), CAUTIONS.items())
def test_a_caution_appears_when_the_case_says_so_and_only_then(caution, changes):
    def cautions(**keys):
        return {each["id"] for each in cases.sheet(demo(**keys)).cautions}

    assert caution in cautions(**changes)
    assert caution not in cautions()
    assert {"authority", "eyes"} <= cautions() & cautions(**changes)
    for key in changes:
        if len(changes) > 1:
            assert caution not in cautions(**{k: v for k, v in changes.items() if k != key}) or (
                key == "hazards"
            )


# ------------------------------------------------------------------------------- blocks, drawing


@pytest.mark.parametrize("changes", [{}, UNC, BSF], ids=["M8", "1/4-20 UNC", "3/8 BSF"])
def test_blocks_show_the_sheet_in_every_system(changes):
    case = demo(**changes)
    study = tr.study(case)
    made = study.sheet
    steps = workshop.steps_table(study)
    assert len(steps.rows) == len(made.steps)
    assert all(row[-1] == "☐" for row in steps.rows)
    text = " ".join(row[1] for row in steps.rows).replace("\\", "")
    system = words.sizes_in(case.report_units, made.thread.system)
    limits = {words.limits(limit, system=system) for step in made.steps for limit in step.limits}
    assert all(each in text for each in limits)
    record = workshop.record_table(study)
    lines = (*made.record, *workshop.tightening_lines(study.preloads))
    assert len(record.rows) == len(lines)
    for line, row in zip(lines, record.rows, strict=True):
        if "limit" in line.values:
            assert row[1] == words.limits(line.values["limit"], system=system)
    assert all(cell == "" for row in record.rows for cell in row[2:])
    assert ".fill-in" in record._repr_mimebundle_()["text/markdown"]
    assert len(workshop.rules_table(study).rows) == len(made.rules)
    if changes:
        assert "in)" in text


def test_the_sheet_asks_for_the_torque_window_and_friction_that_the_margins_assume():
    """Window, friction and tool are those of the repaired hole, unlike those of the original."""
    study = tr.study(demo(insert_friction="0.16 to 0.18"))
    lines = {line.id: line for line in workshop.tightening_lines(study.preloads)}
    repaired, original = study.preloads.repaired, study.preloads.original
    window = lines["permissible_torque_range"].values["window"]
    assert (window.least, window.most) == repaired.window_nm != original.window_nm
    friction = {where: (each.least, each.most) for where, each in lines["friction"].values.items()}
    assert friction == {"thread": (0.16, 0.18), "head": (0.10, 0.14)}
    assert lines["tightening_tool"].values["tool"] == study.preloads.inputs.tool.title
    printed = [row[1] for row in workshop.record_table(study).rows]
    assert printed.count("0.16 to 0.18 / 0.10 to 0.14") == 1
    too_much = tr.study(demo(design_load="25 kN")).preloads
    assert next(workshop.tightening_lines(too_much)).id == "permissible_torque_none"
    assert not [*workshop.tightening_lines(None)]


@pytest.mark.parametrize(("units", "said"), [("SI", "1.5 D, 12 mm"), ("inch", "1.5 D, 0.472 in")])
def test_the_record_names_the_insert_as_it_is_ordered(units, said):
    """In inches it was 'M8x1.25 x 0.472 in', which is no size of an insert."""
    rows = workshop.record_table(tr.study(demo(report_units=units))).rows
    assert [row[1] for row in rows if row[0].startswith("Insert:")] == [
        f"M8x1.25, {said}, free-running, wire S30200"
    ]


def test_the_record_names_the_wire_that_the_strength_of_the_insert_counts_on():
    for kind in ("free-running", "locking"):
        study = tr.study(demo(insert_wire="S30200-200-ksi", insert_kind=kind))
        assert study.evaluation.joint.wire.id == "S30200-200-ksi"
        line = next(each for each in study.sheet.record if each.id.startswith("insert_"))
        asked, limits = workshop._line(line, "SI")
        assert "wire" in asked and limits.endswith(f"{kind}, wire S30200-200-ksi")


def test_the_drawing_has_the_drilled_depth_of_the_steps():
    for changes in ({}, {"old_insert": "yes"}):
        study = tr.study(demo(**changes))
        (limit,) = (each for each in study.sheet.assumed if each.id == "drilled_depth")
        axes = workshop.hole_figure(study).figure.axes[0]
        drawn = [each.get_text() for each in axes.texts if "drilled" in each.get_text()]
        assert drawn == [f"drilled depth {words.limits(limit)}"]


def test_no_rule_on_the_no_go_gauge_stands_without_its_step():
    for position, gauged in (("minimum-material", True), ("mean", False)):
        study = tr.study(demo(tolerance_position=position))
        topics = {row[0] for row in workshop.rules_table(study).rows}
        assert (words.term(Term("topic", "no_go")) in topics) is gauged
        assert results(study)["workshop"]["no_go_rule"] == "three-turns"


def test_a_refused_repair_gets_no_steps_no_record_and_no_acceptance():
    """Pages after the first do not have the conclusion on them."""
    made, refused = tr.study(demo()), tr.study(demo(design_load="40 kN"))
    assert refused.conclusion.id == "does_not_support" and refused.holds_insert
    for block in (workshop.steps_table, workshop.record_table, workshop.sign_off):
        assert block(made).rows
        assert not hasattr(block(refused), "rows")


def test_a_negative_margin_that_a_role_accepts_leaves_the_sheet_its_steps():
    """But nothing else that refuses the repair does, accepted or not."""
    by = {"accept_negative_margin": "stress office | proof loaded to 60 kN, report 7"}
    accepted = tr.study(demo(design_load="40 kN", **by))
    assert accepted.conclusion.id == "does_not_support"
    for block in (workshop.steps_table, workshop.record_table, workshop.sign_off):
        assert block(accepted).rows
    assert "report 7" in str(conclusion.in_short(accepted).data)
    near = tr.study(demo(design_load="40 kN", edge_distance="7 mm", boss_diameter="14 mm", **by))
    assert not near.sheet_released and not hasattr(workshop.steps_table(near), "rows")


def test_a_through_hole_is_drawn_without_bottom():
    case = demo(**BSF)
    drawing = workshop.hole_figure(tr.study(case))
    drawn = [text.get_text() for text in drawing.figure.axes[0].texts]
    # Coil to L + 0.75 P = 14.2875 + 0.9525, and half a pitch of countersink: 15.875 mm.
    assert any(text.startswith("thickness 15.88 mm (0.625 in) minimum") for text in drawn)
    assert not any(text.startswith("drilled") for text in drawn)


def test_the_drawing_is_to_scale_and_its_words_keep_apart():
    case = demo()
    drawing = workshop.hole_figure(tr.study(case))
    figure = drawing.figure
    axes = figure.axes[0]
    (arrow,) = (each for each in axes.texts if each.get_text().startswith("drilled"))
    assert arrow.get_text() == "drilled depth 23.50 to 26.00 mm"
    scale = float(next(t.get_text() for t in axes.texts if "scale" in t.get_text()).split()[1])
    # Axes units are millimetres of paper: the drilled depth has an arrow of its length to scale.
    lengths = [
        round(abs(each.xyann[0] - each.xy[0]), 6)
        for each in axes.texts
        if getattr(each, "arrow_patch", None) is not None
    ]
    # set-down 0.75 to 1.5 P and a coil 12 mm less 0.75 to 0.5 P, both in the middle; L + P; drilled
    coil = 0.5 * (0.9375 + 1.875), 0.5 * (11.0625 + 11.375)
    assert {round(each * scale, 6) for each in (*coil, 13.25, 23.5)} <= {*lengths}
    assert "installed insert 11.07 to 11.37 mm" in {each.get_text() for each in axes.texts}
    assert_clear(figure)


@pytest.mark.parametrize(
    "changes",
    [UNC, BSF,
     {"thread": "M3x0.5", "engagement": "3 mm", "hole_depth": "12 mm", "screw_reach": "5 mm",
      "boss_diameter": "", "engagement_available": ""},
     {"thread": "M24x3", "engagement": "24 mm", "insert_length": "3 D", "hole_depth": "95 mm",
      "screw_reach": "60 mm", "boss_diameter": "", "edge_distance": "",
          "bush_diameter_thin": "", "bush_diameter_heavy": "",
      "engagement_available": ""},
     {"insert_length": "1 D", "screw_reach": ""},
     {**UNC, "engagement": "0.5 in", "insert_length": "2 D", "hole_depth": "25 mm", "screw_reach": "",
      "report_units": "both"}],
    ids=["UNC", "BSF", "M3", "M24", "no reach", "both units"],
)  # fmt: skip
def test_words_of_the_drawing_keep_apart_at_every_size(changes):
    case = demo(**changes)
    figure = workshop.hole_figure(tr.study(case)).figure
    assert_clear(figure)


def test_more_holes_than_columns_ask_for_copies():
    few, many = demo(quantity="4"), demo(quantity="9")
    assert workshop.copies(tr.study(few)).data == ""
    assert "9 holes require 3 of it" in workshop.copies(tr.study(many)).data
    refused = tr.study(demo(quantity="9", edge_distance="8 mm"))
    assert not refused.sheet_released and workshop.copies(refused).data == ""
