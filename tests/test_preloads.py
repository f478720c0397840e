"""Torque and preload of a case: friction, tool, window, load cases, margins, refusals."""

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import tightening as tg
from thread_repair.errors import InputErrors
from thread_repair.joint.margins import margins
from thread_repair.load_cases import load_cases
from thread_repair.preloads import preloads
from thread_repair.reporting.blocks import tightening as blocks
from thread_repair.results import results

DEMO = Path(__file__).parent.parent / "reports" / "demo-rig-plate" / "case.yaml"
BASE = dict(cases.load_text(DEMO))


def demo(**changes):
    return cases.read({**BASE, **changes})


def found(**changes):
    case = demo(**changes)
    return preloads(case, tr.evaluate(case))


def refused(**changes):
    with pytest.raises(InputErrors) as raised:
        demo(**changes)
    return raised.value.faults


# ---------------------------------------------------------------------------- friction and tools


@pytest.mark.parametrize(
    ("condition", "low", "high"),
    [
        ("nasa-lubricated", 0.11, 0.15),
        ("nasa-dry", 0.20, 0.20),
        ("textbook-plain", 0.30, 0.30),
        ("textbook-zinc", 0.20, 0.20),
        ("textbook-cadmium", 0.16, 0.16),
        ("textbook-anti-seize", 0.12, 0.12),
    ],
)
@pytest.mark.parametrize("thread", ["M8x1.25", "M12x1.75"])
def test_a_published_torque_factor_comes_back(condition, low, high, thread):
    """NASA TM-106943 and a textbook table, T = K d F: the K of the case is the K printed."""
    longer = {"thread": thread, "hole_depth": "60 mm", "boss_diameter": "", "insert_length": "2 D"}
    state = found(friction=condition, **longer).original.preload.tightened
    assert state.nut_factor.least == pytest.approx(low)
    assert state.nut_factor.highest == pytest.approx(high)


def test_torque_to_preload_by_hand():
    """17 N·m, M8, friction 0.10 to 0.14, 10.4 mm under the head, wrench 4 percent.

    Lever 1.25/2pi + mu (7.188 x 0.57735 + 5.2): 1.1340 and 1.5080 mm.
    """
    band = found().original.preload.tightened.preload
    assert band.highest == pytest.approx(17_000 * 1.04 / 1.1340, rel=2e-4)
    assert band.least == pytest.approx(17_000 * 0.96 / 1.5080, rel=2e-4)
    service = found().original.preload.service
    assert service.least == pytest.approx(band.least / 1.05)
    assert service.highest == band.highest


def test_a_coefficient_a_range_and_a_class_are_understood():
    for entered, low, high in (
        ("0.12", 0.12, 0.12),
        ("0.10 to 0.16", 0.10, 0.16),
        (".1-.16", 0.10, 0.16),
        ("class-B", 0.08, 0.16),
    ):
        head = cases.tightening(demo(friction=entered)).head
        assert (head.low, head.high) == (low, high)


def test_a_single_coefficient_is_called_too_narrow():
    assert any("too narrow" in each.text for each in found(friction="0.12").notices)
    assert not any("too narrow" in each.text for each in found().notices)


def test_the_repaired_thread_may_have_its_own_friction():
    both = found(insert_friction="0.14 to 0.20")
    assert both.repaired.preload.service.highest < both.original.preload.service.highest
    assert both.repaired.same_preload_nm > both.original.same_preload_nm == 17.0
    again = found(insert_friction="0.14 to 0.20", torque=f"{both.repaired.same_preload_nm} N·m")
    assert again.repaired.preload.tightened.preload.middle == pytest.approx(
        both.original.preload.tightened.preload.middle
    )
    assert not any("is not known and taken" in each.text for each in both.notices)
    assert any("is not known and taken" in each.text for each in found().notices)


def test_a_locking_insert_takes_its_prevailing_torque():
    """M8: at most 6 N·m (ASME B18.29.2M-2005 Table 5, re-aligned columns)."""
    both = found(insert_kind="locking")
    assert both.inputs.prevailing_nm["repaired"] == (0.0, 6.0)
    assert both.inputs.prevailing_nm["original"] == (0.0, 0.0)
    assert both.repaired.same_preload_nm == pytest.approx(17.0 + 3.0)
    assert both.repaired.preload.service.least < both.original.preload.service.least
    assert both.repaired.preload.service.highest == both.original.preload.service.highest


def test_a_lock_without_a_known_torque_is_said_and_not_guessed():
    both = found(insert_kind="locking", thread="3/8 BSF", hole_class="medium",
                 screw_class="medium", insert_hole_class="medium", hole_depth="40 mm",
                 screw_reach="20 mm", boss_diameter="", edge_distance="")  # fmt: skip
    assert any("is NOT in these numbers" in each.text for each in both.notices)
    given = found(insert_kind="locking", prevailing_torque="5 N·m")
    assert given.inputs.prevailing_nm["repaired"] == (0.0, 5.0)


def test_a_published_scatter_replaces_the_band_of_friction():
    """NASA TM-106943 pp. 7-8: torque wrench, plus or minus a quarter, friction included."""
    band = found(tightening_tool="nasa-torque-wrench").original.preload.tightened.preload
    assert band.highest / band.middle == pytest.approx(1.25)
    assert band.least / band.middle == pytest.approx(0.75)
    ratio = found(tightening_tool="impact").original.preload.tightened.preload
    assert ratio.highest / ratio.least == pytest.approx(4.0)


def test_a_small_torque_has_the_wider_wrench():
    tool = cases.tightening(demo(tightening_tool="", torque="8 N·m")).tool
    assert tool.id == "wrench-to-10"
    assert cases.tightening(demo(tightening_tool="")).tool.id == "wrench-above-10"


def test_a_wanted_preload_gives_a_torque_for_each_state():
    both = found(torque="", preload="13 kN", insert_kind="locking")
    for state in both.states.values():
        assert state.preload.tightened.preload.middle == pytest.approx(13_000)
    extra = both.repaired.preload.tightened.torque_nm - both.original.preload.tightened.torque_nm
    assert extra == pytest.approx(3.0)


def test_temperature_by_hand():
    """205 GPa x 36.61 mm2 x 80 K x (23.4 - 11.1)e-6, clamped part rigid: NASA TM-106943 (10)."""
    warm = found(temperature="100 degC").original.preload
    assert warm.thermal_change == pytest.approx(205e3 * 36.61 * 80 * 12.3e-6, rel=1e-3)
    cold = found().original.preload
    assert warm.service.highest - cold.service.highest == pytest.approx(warm.thermal_change)
    assert warm.service.least == pytest.approx(cold.service.least)
    same = found(temperature="100 degC", clamped_material="screw").original.preload
    assert same.thermal_change == 0


# ------------------------------------------------------------------------------ margins, window


@given(
    st.sampled_from(["original", "repaired"]),
    st.sampled_from(["0.10 to 0.14", "class-C", "0.12"]),
    st.sampled_from(["wrench-above-10", "nasa-torque-wrench", "impact"]),
    st.sampled_from(["", "0.2", "1"]),
    st.sampled_from(["free-running", "locking"]),
)
@settings(deadline=None, max_examples=12)
def test_margins_vanish_at_the_ends_of_the_window(state, friction, tool, share, kind):
    keys = {"friction": friction, "tightening_tool": tool, "load_share": share,
            "insert_kind": kind, "design_load": "2 kN"}  # fmt: skip
    least, most = found(**keys).states[state].window_nm
    high = found(**keys, torque=f"{most:.12g} N·m").states[state].margins
    assert min(high.strip, high.tension, high.screw_yield) == pytest.approx(0, abs=1e-9)
    if share == "1" or (kind == "locking" and state == "original"):
        # No load is left to open the joint; the least torque of the original may lie below the
        # prevailing torque of the repaired thread, which the case refuses.
        return
    low = found(**keys, torque=f"{least:.12g} N·m").states[state].margins
    assert low.separation == pytest.approx(0, abs=1e-9)


def test_the_torque_that_strips_does():
    state = found().repaired
    at = found(torque=f"{state.preload.tightened.strip_torque_nm.least:.12g} N·m",
               tightening_tool="nasa-load-sensing", friction="0.10", design_load="")  # fmt: skip
    assert at.repaired.preload.tightened.preload.middle == pytest.approx(
        tr.evaluate(demo()).repaired.pull_out
    )


def cases_by_name(case, state):
    return {each.name: each for each in load_cases(case) if each.state in (None, state)}


def test_a_known_share_gives_one_case_an_unknown_one_gives_the_bounds():
    known, unknown = demo(), demo(load_share="")
    assert set(cases_by_name(known, "original")) == {
        "design load, rupture", "design load, yield",
        "highest preload and design load, rupture", "highest preload and design load, yield",
    }  # fmt: skip
    bounds = cases_by_name(unknown, "original")
    highest = found().original.preload.service.highest
    assert bounds["highest preload, rupture"].load == pytest.approx(highest)
    assert bounds["highest preload and design load, rupture"].load == pytest.approx(
        highest + 1.5 * 9000
    )
    assert bounds["highest preload and design load, yield"].load == pytest.approx(
        highest + 1.1 * 9000
    )
    shared = cases_by_name(known, "original")["highest preload and design load, rupture"]
    assert shared.load == pytest.approx(highest + 1.5 * 0.2 * 9000)
    assert any("both" in each.text or "bounded" in each.text
               for each in found(load_share="").notices)  # fmt: skip


def test_load_cases_without_load_or_without_tightening():
    assert {each.name for each in load_cases(demo(design_load=""))} == {
        "highest preload, rupture", "highest preload, yield",
    }  # fmt: skip
    loose = demo(torque="", friction="")
    assert {each.name for each in load_cases(loose)} == {
        "design load, rupture", "design load, yield",
    }  # fmt: skip
    assert load_cases(demo(torque="", friction="", design_load="")) == ()


def test_margins_of_the_tightened_joint_are_among_those_of_the_report():
    case = demo()
    evaluation = tr.evaluate(case)
    tightened = preloads(case, evaluation).repaired
    rows = {
        (m.mode, m.load_case): m
        for m in margins(evaluation, load_cases(case))
        if m.state == "repaired"
    }
    rupture, at_yield = (f"highest preload and design load, {w}" for w in ("rupture", "yield"))
    assert rows["screw_tension", rupture].margin == pytest.approx(tightened.margins.tension)
    strip = min(
        m.margin for (mode, name), m in rows.items() if name == rupture and mode != "screw_tension"
    )
    assert strip == pytest.approx(tightened.margins.strip)
    # The screw's yield load is lowered by the twist of tightening.
    assert rows["screw_tension", at_yield].margin == pytest.approx(tightened.margins.screw_yield)
    assert (
        rows["screw_tension", at_yield].capacity
        < rows["screw_tension", "design load, yield"].capacity
    )


def test_results_hold_the_tightening_of_both_states():
    document = results(demo())
    tightening = document["tightening"]
    assert tightening["caution"] == tg.CAUTION
    for state in ("original", "repaired"):
        numbers = tightening["states"][state]
        assert numbers["preload_min_N"] < numbers["preload_N"] < numbers["preload_max_N"]
        assert numbers["window_min_Nm"] < numbers["torque_Nm"] < numbers["window_max_Nm"]
        assert set(numbers["margins"]) == {"strip", "tension", "yield", "separation"}
    assert {"vdi-2230-1", "nasa-tm-106943"} <= {each["id"] for each in document["sources"]}
    assert results(demo(torque="", friction=""))["tightening"] is None
    # Without a load nothing opens the joint: infinite is written as null.
    alone = results(demo(design_load=""))["tightening"]["states"]["original"]
    assert alone["margins"]["separation"] is None


def test_too_much_and_too_little_torque_are_said():
    texts = [each.text for each in found(torque="40 N·m").notices if each.level == "limit"]
    assert any("brings the screw to yield (margin -" in text for text in texts)
    texts = [each.text for each in found(torque="8 N·m").notices if each.level == "limit"]
    assert any("may open under the design load" in text for text in texts)
    bound = [each.text for each in found(load_share="").notices if each.level == "limit"]
    assert any("if the screw feels all of the load" in text for text in bound)


# ------------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"friction": "lubricated"}, "friction: unknown friction condition 'lubricated'; did you "
         "mean 'nasa-lubricated'"),
        ({"friction": ""}, "friction: missing; a torque is tied to the preload by it"),
        ({"friction": "0.16 to 0.10"}, "friction: '0.16 to 0.10' is no range of friction"),
        ({"friction": "12"}, "at most 1, such as '0.10 to 0.16'"),
        ({"insert_friction": "clas-B"}, "insert_friction: unknown friction condition"),
        ({"tightening_tool": "wrench"}, "tightening_tool: unknown tightening tool 'wrench'; did"),
        ({"load_share": "1.2"}, "load_share: '1.2' is above 1"),
        ({"separation_factor": "0"}, "separation_factor: '0' is not a factor"),
        ({"clamped_material": "wood"}, "clamped_material: unknown parent 'wood'"),
        ({"preload": "13 kN"}, "preload: given together with torque"),
        ({"insert_kind": "locking", "torque": "5 N·m"}, "torque: '5 N·m' does not overcome the "
         "prevailing torque of the locking insert, up to 6 N·m"),
        ({"bearing_diameter": "-1 mm"}, "bearing_diameter: '-1 mm' must be above zero"),
    ],
)  # fmt: skip
def test_impossible_tightening_gets_one_sentence(changes, says):
    (fault,) = refused(**changes)
    assert says in fault


# --------------------------------------------------------------------------------------- blocks


def test_blocks_show_band_and_caution_in_every_state_of_knowledge():
    for changes in ({}, {"load_share": ""}, {"design_load": ""}, {"torque": "40 N·m"},
                    {"report_units": "inch"}, {"insert_kind": "locking"}):  # fmt: skip
        case = demo(**changes)
        evaluation = tr.evaluate(case)
        both = preloads(case, evaluation)
        words = blocks.line(case, both).data
        assert "maintenance manual governs" in words and "preload of" in words
        assert ("have it agreed first" in words) == (
            not both.repaired.window_nm[0] <= both.repaired.preload.tightened.torque_nm
            <= both.repaired.window_nm[1]
        )  # fmt: skip
        table = blocks.table(case, both)
        assert len(table.rows) == 14
        assert "governs" in blocks.caution(both).data
        blocks.preload_figure(case, evaluation, both).figure.draw_without_rendering()
    assert "FAILS" in str(blocks.table(demo(torque="40 N·m"), found(torque="40 N·m")).rows)


def test_a_case_without_torque_says_so():
    case = demo(torque="", friction="")
    evaluation = tr.evaluate(case)
    assert preloads(case, evaluation) is None
    assert "neither torque nor preload" in blocks.table(case, None).data
    assert "Take the torque from the drawing" in blocks.line(case, None).data
    assert blocks.notes(None).data == blocks.caution(None).data == ""
    assert blocks.preload_figure(case, evaluation, None).data == ""


def test_every_reference_of_the_tightening_is_a_source():
    both = found(temperature="60 degC", insert_kind="locking", friction="nasa-lubricated")
    cited = {each.source for each in both.references}
    assert {"vdi-2230-1", "nasa-tm-106943", "iso-6789-1", "tightening-model"} <= cited
    assert "asme-b18-29-2m" in cited
    assert not any(math.isnan(each.window_nm[0]) for each in both.states.values())
