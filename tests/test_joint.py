"""The comparison of both states: equal terms, governing modes, the ratio taken apart."""

import itertools
import math

import numpy as np
import pytest

import thread_repair
from thread_repair import case, inserts, joint, materials, words
from thread_repair.errors import InputErrors, ValidityError
from thread_repair.joint import mode_inputs
from thread_repair.joint.bounds import bracket
from thread_repair.joint.sizes import sizes
from thread_repair.joint.wall import (
    boss_wall_factor,
    certified_wall_factor,
    flow_stress,
    yield_over_tensile_least,
)
from thread_repair.report import results
from thread_repair.strength.collapse.bounds import boss_bounds
from thread_repair.strength.collapse.wall_factor import wall_coefficient, wall_factor
from thread_repair.strength.modes import capacities

NEEDED = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "8 mm",
    "insert_length": "8 mm",
}


def evaluate(**changes):
    return thread_repair.evaluate(case.read({**NEEDED, **changes}))


def joint_of(**changes):
    return case.joint(case.read({**NEEDED, **changes}))


def test_a_screw_measured_above_its_basic_size_has_bounds():
    """Its crest lies beyond the basic root of the hole, which it cannot: the root lies further."""
    measured = {"tolerance_position": "measured", "measured_screw_major": "8.01 mm"}
    found = evaluate(**measured)
    assert found.original.sizes.crest > found.original.sizes.hole_major
    bounds = bracket(found.joint, found.original)
    assert 0.9 < bounds.lower / bounds.formula < bounds.upper / bounds.formula <= 1


def test_each_hole_has_the_limits_of_its_own_class():
    """ISO 965-1, M8x1.25: TD2 of 5H 125 and of 6H 160 um, TD1 212 and 265 um, by hand.

    The insert hole lies 1.299038 x 1.25 = 1.6238 mm further out: pitch diameter 8.812 mm, minor
    diameter 8.271 mm at least.
    """
    finer = joint_of(hole_class="6H", insert_hole_class="5H")
    coarser = joint_of(hole_class="5H", insert_hole_class="6H")
    for found, original, repaired in (
        (finer, (7.188 + 0.160, 6.647 + 0.265), (8.812 + 0.125, 8.271 + 0.212)),
        (coarser, (7.188 + 0.125, 6.647 + 0.212), (8.812 + 0.160, 8.271 + 0.265)),
    ):
        for state, limits in (("original", original), ("repaired", repaired)):
            at = sizes(found, state)
            assert (at.hole_pitch, at.hole_minor) == pytest.approx(limits, abs=1.1e-3), state


def test_original_area_at_minimum_material():
    """FED-STD-H28/2B Appendix B with ISO 965-1 limits; printed in Bickford's table: 134.63 mm2."""
    found = evaluate().original
    mode = found.mode("parent_thread_strip")
    assert mode.area == pytest.approx(134.63, rel=1e-4)
    (beside,) = (
        m for m in found.modes if m.mode == mode.mode and m.method == "fed_std_h28_unfactored"
    )
    assert beside.capacity == pytest.approx(134.63 * mode.stress, rel=1e-4)
    assert mode.stress == pytest.approx(186.2, rel=1e-3)  # 27 ksi


def test_basic_sizes_gain_by_the_diameter_alone():
    """Equal lengths at basic sizes: (d + 1.299038 P) / d = 1.203 by geometry."""
    found = evaluate(tolerance_position="basic")
    areas = [s.mode("parent_thread_strip").area / s.engagement for s in found.states.values()]
    assert areas[1] / areas[0] == pytest.approx((8 + 1.299038 * 1.25) / 8, rel=1e-6)


@pytest.mark.parametrize("position", ["minimum-material", "mean", "basic"])
@pytest.mark.parametrize("thread", ["M5x0.8", "M8x1.25", "M10x1.5", "M24x3"])
def test_effects_multiply_to_the_ratio(thread, position):
    found = evaluate(
        thread=thread, engagement="1.2 D", insert_length="2 D", tolerance_position=position,
        boss_diameter="2.2 D", screw_reach="1.7 D",
    )  # fmt: skip
    assert math.prod(e.ratio for e in found.effects) == pytest.approx(
        found.pull_out_ratio, rel=1e-12
    )


def test_the_fitted_length_is_used_never_the_nominal():
    found = evaluate()
    assert found.repaired.engagement == pytest.approx(8 - 0.75 * 1.25)
    assert sum(step.mm for step in found.repaired.budget) == found.repaired.engagement


def test_a_short_screw_cuts_both_states():
    found = evaluate(engagement="12 mm", insert_length="12 mm", screw_reach="9 mm")
    assert found.original.engagement == 9
    assert found.repaired.engagement == pytest.approx(9 - 1.5 * 1.25)  # from the deepest set-down


def test_both_holes_stand_at_the_same_position():
    for position in ("minimum-material", "mean", "basic"):
        found = evaluate(tolerance_position=position)
        below = [s.sizes.hole_major - s.sizes.crest for s in found.states.values()]
        assert below[0] == pytest.approx(below[1], abs=5e-4)  # sizes are printed to a micrometre


def test_required_engagement_lets_the_strongest_screw_break_first():
    found = evaluate()
    needed = found.original.required_engagement
    again = evaluate(engagement=f"{needed:.9f} mm").original
    assert again.pull_out == pytest.approx(1055 * math.pi / 4 * (8 - 0.938194 * 1.25) ** 2)


def test_says_so_where_the_insert_does_not_win():
    found = evaluate(engagement="12 mm")  # a shorter insert than the thread it replaces
    assert found.pull_out_ratio < 1


def test_says_so_where_the_screw_thread_governs():
    found = evaluate(screw="4.6", parent="EN-GJS-400-15", engagement="4 mm", insert_length="8 mm")
    assert found.original.governing_mode == "screw_thread_strip"


def test_in_heat_it_is_said_that_screw_and_wire_have_their_cold_strength():
    """Nothing on record lowers them, so that their margins are those of a cold screw."""
    cold, hot = evaluate(temperature="35 degC"), evaluate(temperature="150 degC")
    for mode in ("screw_tension", "insert_thread_strip"):
        assert cold.repaired.mode(mode).stress == hot.repaired.mode(mode).stress
    assert "screw_as_when_cold" not in {each.id for each in cold.facts}
    (said,) = (each for each in hot.facts if each.id == "screw_as_when_cold")
    assert "room temperature" in words.sentence(said) and "150 °C" in words.sentence(said)


def test_in_heat_it_is_said_that_the_parent_may_not_be_as_strong_when_cold_again():
    """After long heat an aged alloy is weaker at room temperature too; nothing on record says by
    how much, and the colder load cases count its full strength."""
    hot = {"temperature": "150 degC", "parent_strength_temperature": "150 degC",
           "parent_source": "test report (invented)"}  # fmt: skip
    others = {"parent_tensile_strength": "200 MPa", "parent_shear_strength": "120 MPa"}
    yields = {"parent_yield_strength": "180 MPa"}
    every = ({}, {"temperature": "35 degC"}, {"temperature": "150 degC"},
             {**hot, **others}, {**hot, **yields}, {**hot, **others, **yields})  # fmt: skip
    told = [[x.id for x in evaluate(**each).facts].count("parent_once_hot") for each in every]
    assert told == [0, 0, 1, 1, 1, 0]  # the strengths that are not supplied are the table's
    (said,) = (x for x in evaluate(temperature="150 degC").facts if x.id == "parent_once_hot")
    assert "150 °C" in words.sentence(said)


@pytest.mark.parametrize(
    ("parent", "temperature", "creeps"),
    [("AZ91D", "120 degC", False), ("AZ91D", "121 degC", True), ("ZP5", "20 degC", True),
     ("6061-T6", "150 degC", False)],
)  # fmt: skip
def test_creep_of_the_parent_is_said_where_it_is_loaded_for_long(parent, temperature, creeps):
    """Magnesium above the limit on record, zinc at room temperature."""
    hot = {"parent_tensile_strength": "150 MPa", "parent_shear_strength": "90 MPa",
           "parent_strength_temperature": temperature, "parent_source": "invented"}  # fmt: skip
    found = evaluate(parent=parent, temperature=temperature, **(hot if parent == "AZ91D" else {}))
    said = [words.sentence(each) for each in found.facts if each.id == "parent_creeps"]
    assert ["creep" in each and "no published source" in each for each in said] == [True] * creeps


def test_the_screw_limits_both_states():
    found = evaluate(engagement="20 mm", insert_length="20 mm")
    assert found.strength_ratio == 1


def test_measured_sizes_are_used_as_given():
    sizes = {
        "measured_screw_major": "7.9",
        "measured_screw_pitch": "7.1",
        "measured_hole_minor": "6.8",
        "measured_hole_pitch": "7.27",
        "measured_insert_hole_minor": "8.4",
        "measured_insert_hole_pitch": "8.89",
    }
    found = evaluate(tolerance_position="measured", **sizes)
    assert found.original.sizes.crest == 7.9
    assert found.repaired.sizes.hole_pitch == 8.89
    assert found.repaired.sizes.crest == pytest.approx(9.384)  # its least, whatever the screw


def test_a_measured_size_that_its_class_refuses_is_said():
    """M8x1.25, screw 6g, both holes 6H: the printed limits, and a micrometre beyond each."""
    limits = {"screw_major": 7.760, "screw_pitch": 7.042, "hole_minor": 6.912, "hole_pitch": 7.348,
              "insert_hole_minor": 8.536, "insert_hole_pitch": 8.972}  # fmt: skip
    for beyond in (0.0, 0.001):
        sizes = {
            f"measured_{name}": f"{limit + (-beyond if name.startswith('screw') else beyond):.3f}"
            for name, limit in limits.items()
        }
        found = evaluate(insert_hole_class="6H", tolerance_position="measured", **sizes)
        said = (each.values for each in found.facts if each.id == "measured_outside_class")
        told = {each["diameter"].id: each["limit"].value for each in said}
        assert told == pytest.approx(limits if beyond else {})


def test_inch_and_metric_entries_give_the_same():
    metric, inch = (
        results.results(case.read({**NEEDED, **given}), with_chances=False)
        for given in (
            {"engagement": "12.7 mm", "design_load": "9 kN"},
            {"engagement": "1/2 in", "design_load": "2023.280488391 lbf"},
        )
    )
    for one, other in zip(metric["margins"], inch["margins"], strict=True):
        assert one["margin"] == pytest.approx(other["margin"], rel=1e-9)


def test_every_number_of_the_comparison_has_a_source():
    found = evaluate()
    used = {reference.source for reference in found.references}
    assert {"fed-std-h28-2b", "iso-965-1", "sae-770420"} <= used
    hole = inserts.insert_hole(found.joint.thread, found.joint.insert_hole_class)
    assert {*hole.references} <= {*found.repaired.sizes.references}
    assert any("shear" in reference.what for reference in found.references)


def test_margins_follow_the_definition():
    document = results.results(
        case.read({**NEEDED, "design_load": "10 kN", "load_factor": "1.5", "yield_factor": "1.1"}),
        with_chances=False,
    )
    for margin in document["margins"]:
        expected = margin["capacity_N"] / (margin["factor"] * margin["demand_N"]) - 1
        assert margin["margin"] == pytest.approx(expected, rel=1e-9)
    assert {m["load_case_id"] for m in document["margins"]} == {
        "limit_load_ultimate", "limit_load_yield",
    }  # fmt: skip


def test_joint_is_frozen():
    found = case.joint(case.read(NEEDED))
    with pytest.raises(AttributeError):
        found.engagement = 3  # type: ignore[misc]
    assert joint.evaluate(found).joint is found


#: What a final report says of itself, beside its numbers.
FINAL = {
    "status": "final",
    "date": "2026-11-25",
    "prepared_by": "A. Example",
    "item": "plate RP-100",
    "revision": "B",
    "changes": "A | 2026-11-20 | first issue\nB | 2026-11-25 | torque corrected",
}


def test_final_stands_on_values_that_were_read():
    assert evaluate(**FINAL).joint.parent.id == "6061-T6"


def test_final_is_refused_on_recalled_values_and_says_where_to_confirm_them():
    with pytest.raises(InputErrors) as raised:
        evaluate(status="final", parent="6082-T6")
    assert any("6082-T6" in fault and "EN 755-2" in fault for fault in raised.value.faults)


def test_final_stands_on_measured_values():
    found = evaluate(
        **FINAL,
        parent="6082-T6",
        parent_shear_strength="190 MPa",
        parent_tensile_strength="310 MPa",
        parent_source="test report 12",
        parent_strength_basis="minimum",
    )
    assert found.joint.parent_shear.value == 190
    assert "engineer" in {reference.source for reference in found.references}


def test_final_is_refused_on_recalled_limits_of_size():
    """No BS 84 tolerance could be read."""
    with pytest.raises(InputErrors, match="status: final is refused"):
        evaluate(status="final", thread="3/8 BSF", engagement="10 mm", insert_length="1 D")


@pytest.mark.parametrize("support", ["base", "face", "unknown"])
def test_a_thin_boss_can_make_the_repair_the_weaker_thread(support):
    found = evaluate(
        engagement="12 mm", insert_length="12 mm", boss_diameter="14 mm", boss_support=support
    )
    assert found.pull_out_ratio < 1
    (said,) = (each for each in found.facts if each.id == f"boss_reduces_{support}")
    lost = {name: said.values[name].value for name in ("original", "repaired")}
    assert 0 <= lost["original"] < lost["repaired"] < 1


def test_the_screw_is_not_held_better_than_the_wall_round_it():
    """Grey iron shears at more than its tensile strength: the wall gives way first.

    Net section of a boss of 14 mm round M8: pi/4 (14^2 - 8^2) = 103.67 mm2. Its yield strength is
    not known and taken as 0.4 of 250 MPa: flow stress (250 + 100)/2 = 175 MPa, 18.14 kN. In a
    thick wall 12 mm of thread, 201.9 mm2, would hold 58.6 kN at the shear strength of 290 MPa.
    """
    given = {"parent": "EN-GJL-250", "boss_diameter": "14 mm", "engagement": "12 mm"}
    found = evaluate(**given, boss_support="base", screw="12.9").original
    thread = found.mode("parent_thread_strip")
    assert thread.area * thread.stress == pytest.approx(58.56e3, rel=1e-3)
    assert found.mode("boss_wall").capacity == pytest.approx(18.14e3, rel=1e-3)
    assert found.pull_out <= found.mode("boss_wall").capacity
    # what is derived from it says the same
    both = thread_repair.sweep(case.read({**NEEDED, **given}), engagement=12)
    whole = results.results(case.read({**NEEDED, **given}), with_chances=False)["states"][
        "original"
    ]
    assert whole["pull_out_N"] == pytest.approx(both["pull_out_N"][0], rel=1e-9)
    assert whole["pull_out_N"] < found.pull_out  # of the weaker support


@pytest.mark.parametrize(
    ("shear", "tensile", "yield_", "flow"),
    [
        (186.2, 289.6, 241.3, (289.6 + 241.3) / 2),  # 6061-T6: 27, 42, 35 ksi
        (124.1, 268.9, 200.0, 3**0.5 * 124.1),  # AZ31B-H24: the mean, 234.5, above sqrt(3) tau
        (290.0, 250.0, math.nan, 0.7 * 250),  # grey iron: sqrt(3) tau is 502 MPa
        (200.0, 300.0, 350.0, 300.0),  # tested softer than the yield strength of its table
    ],
)
def test_the_wall_flows_at_the_mean_of_yield_and_tensile_but_not_above_its_shear_strength(
    shear, tensile, yield_, flow
):
    assert flow_stress(shear, tensile, yield_) == pytest.approx(flow)


@pytest.mark.parametrize(
    ("parent", "how"),
    [("6061-T6", "mean"), ("AZ31B-H24", "shear"), ("EN-GJL-250", "yield_assumed")],
)
def test_what_the_wall_flows_at_is_named(parent, how):
    found = joint_of(parent=parent).flow_stress
    assert found.named.id == f"flow_stress_{how}"


def test_a_yield_strength_not_known_never_flatters_the_wall():
    known = [
        p.yield_ / p.tensile for p in materials.parents() if not math.isnan(p.yield_ / p.tensile)
    ]
    assert yield_over_tensile_least() <= min(known)
    for parent in materials.parents():
        if not math.isnan(parent.yield_):
            given = flow_stress(math.inf, parent.tensile, parent.yield_)
            assert flow_stress(math.inf, parent.tensile, math.nan) <= given


def test_a_wall_of_lower_flow_stress_counts_as_a_thinner_one():
    """Boss of 14 mm round M8, 1.75 D: 0.75 of the flow stress is 0.75 of the wall's area.

    (s/D)^2 - 1 = 0.75 (1.75^2 - 1) = 1.5469, s/D = 1.5959; one diameter engaged, at the base. The
    table has lower bounds of 0.6794 at 1.5 and 0.8452 at 1.6, linear in the square of the
    diameter: 0.6794 + 0.1658 (2.5469 - 2.25) / (2.56 - 2.25) = 0.8382.
    """
    thin = joint_of(boss_diameter="14 mm", boss_support="base")
    found = certified_wall_factor(
        thin, "original", 8.0, 8.0, shear=100.0, flow=[75 * 3**0.5, 100 * 3**0.5, 130 * 3**0.5]
    )
    assert found[0] == pytest.approx(0.8382, abs=1e-4)
    # 1.75: between 0.9250 at 1.7 and 0.9497 at 1.8; no credit above the shear strength
    assert found[1] == found[2] == pytest.approx(0.9372, abs=3e-4)


def test_below_the_least_boss_of_the_table_the_load_falls_with_the_area_of_the_wall():
    """A boss of 1.25 D whose wall has a share of the thread's flow stress: 0.5625 of the share.

    The table ends at 1.2 D, 0.44; shares of 0.70 and 0.35 have 0.39375 and 0.196875 of wall, which
    keep 0.8949 and 0.4474 of what is tabled for 1.2 D at its own share, 0.44 / 0.5625.
    """
    thin = joint_of(boss_diameter="10 mm", boss_support="base")
    flow = 100 * 3**0.5 * np.array([0.44 / 0.5625, 0.70, 0.35])
    for bound in ("lower", "upper"):
        found = certified_wall_factor(
            thin, "original", 8.0, 8.0, shear=100.0, flow=flow, bound=bound
        )
        assert found[1:] / found[0] == pytest.approx([0.8949, 0.4474], abs=1e-4)


def test_a_wall_costs_nothing_only_from_where_that_is_certain():
    """Half a diameter at the base, original: the upper bound of the table reaches 1 at 1.7 D.

    2 % further out, from 1.735 D, the wall counts as thick; before that the lower bound does,
    0.9498 at 1.7 and 0.9695 at 1.8: at 1.72 it is 0.9498 + 0.0197 (2.9584 - 2.89) / (3.24 - 2.89)
    = 0.9537.
    """

    def factor(ratio):
        found = joint_of(boss_diameter=f"{8 * ratio} mm", boss_support="base")
        return float(certified_wall_factor(found, "original", 8.0, 4.0, shear=100.0, flow=200.0))

    assert factor(1.74) == 1
    assert factor(1.72) == pytest.approx(0.9537, abs=1e-4)


#: Engagement and boss over the major diameter of the hole, certified lower and upper bound over
#: the formula of an original thread (pitch an eighth) whose face bears outside 1.15 diameters.
CLEARANCE = (
    (0.5, 1.3, 0.4096, 0.4689),
    (0.5, 1.4, 0.5787, 0.6154),
    (0.5, 1.5, 0.6595, 0.7082),
    (0.5, 1.6, 0.7341, 0.7845),
    (0.5, 1.75, 0.8291, 0.8847),
    (0.5, 1.9, 0.9067, 0.9633),
    (0.5, 2.2, 0.9708, 1.0000),
    (1.0, 1.3, 0.2048, 0.2344),
    (1.0, 1.4, 0.3526, 0.3937),
    (1.0, 1.5, 0.5090, 0.5608),
    (1.0, 1.6, 0.6472, 0.6755),
    (1.0, 1.75, 0.7846, 0.8123),
    (1.0, 1.9, 0.8859, 0.9181),
    (1.0, 2.2, 0.9752, 1.0000),
    (1.5, 1.3, 0.1365, 0.1563),
    (1.5, 1.4, 0.2350, 0.2625),
    (1.5, 1.5, 0.3393, 0.3836),
)


@pytest.mark.parametrize(("engagement", "ratio", "lower", "upper"), CLEARANCE)
def test_a_boss_on_its_face_bears_outside_the_clearance_hole(engagement, ratio, lower, upper):
    found = joint_of(boss_diameter=f"{8 * ratio} mm", boss_support="face")
    factor = certified_wall_factor(found, "original", 8.0, 8 * engagement, shear=1.0, flow=2.0)
    assert 0.7 * lower < factor <= upper
    assert factor < 1.03 * lower or upper == 1


def test_a_bound_with_a_clearance_hole_is_that_of_the_solver():
    """The fourth row of the list, worked out again."""
    height = 3**0.5 / 2 / 8
    found = boss_bounds(
        screw_major=1.0, hole_major=1.0, hole_pitch_diameter=1 - 0.75 * height,
        hole_minor=1 - 1.25 * height, pitch=1 / 8, n_pitches=4, boss_diameter=1.6, support="face",
        bearing_diameter=1.15,
    )  # fmt: skip
    assert CLEARANCE[3][:2] == (0.5, 1.6)
    assert found.lower / found.formula == pytest.approx(CLEARANCE[3][2], abs=2e-4)
    assert found.upper / found.formula == pytest.approx(CLEARANCE[3][3], abs=2e-4)


def test_the_wall_of_a_boss_on_its_face_counts_where_it_bears():
    """12.8 mm round M8: of 1.6^2 - 1 = 1.56 there bear 1.6^2 - 1.15^2 = 1.2375, 79.3 %.

    The insert hole of 9.62 mm is wider than the clearance hole of 9.2 mm, all of its wall bears.
    """
    thin = joint_of(boss_diameter="12.8 mm", boss_support="face")
    whole = wall_coefficient("face")
    assert boss_wall_factor(thin, 8.0) == pytest.approx(0.7933 * whole, rel=1e-4)
    assert boss_wall_factor(thin, 9.624) == whole
    repaired = certified_wall_factor(thin, "repaired", 9.2, 9.2, shear=1.0, flow=2.0)
    assert float(repaired) >= wall_factor(12.8 / 9.2, "face", "repaired")


def test_a_thinner_boss_never_helps():
    loads = [
        [s.strength for s in evaluate(boss_diameter=f"{d / 2} mm").states.values()]
        for d in range(24, 60)
    ]
    for thin, thick in itertools.pairwise(loads):
        assert thin[0] <= thick[0] * (1 + 1e-12)
        assert thin[1] <= thick[1] * (1 + 1e-12)


def test_unknown_support_is_never_better_than_either():
    def strengths(support):
        found = evaluate(boss_diameter="15 mm", boss_support=support, engagement="12 mm")
        return [s.pull_out for s in found.states.values()]

    unknown = strengths("unknown")
    for support in ("base", "face"):
        assert all(u <= s for u, s in zip(unknown, strengths(support), strict=True))


def test_a_boss_without_a_rule_is_refused():
    with pytest.raises(ValidityError, match="no published rule"):
        evaluate(boss_diameter="11 mm")


@pytest.mark.parametrize("support", ["face", "unknown"])
def test_a_boss_within_the_clearance_hole_is_refused_as_one_without_a_rule(support):
    """M36x1.5: 40 mm lie within 1.15 x 36 = 41.4 mm, so that nothing holds the wall on its face."""
    with pytest.raises(
        ValidityError, match=r"boss_diameter: no published rule.* expected 43\.2 mm"
    ):
        evaluate(
            thread="M36x1.5", engagement="36 mm", insert_length="36 mm", boss_diameter="40 mm",
            boss_support=support,
        )  # fmt: skip


def test_no_length_mends_a_thin_wall():
    assert math.isnan(evaluate(boss_diameter="12 mm").repaired.required_engagement)


def test_required_engagement_in_a_boss():
    needed = evaluate(boss_diameter="18 mm").original.required_engagement
    again = evaluate(boss_diameter="18 mm", engagement=f"{needed:.6f} mm").original
    assert again.pull_out == pytest.approx(38622, rel=1e-3)


@pytest.mark.parametrize(
    ("changes", "tabled"),
    [({}, True), ({"tolerance_position": "basic"}, True), ({"tolerance_position": "mean"}, False)],
)
def test_the_formula_lies_between_certified_bounds(changes, tabled):
    found = evaluate(**changes)
    for state in found.states.values():
        known = bracket(found.joint, state)
        assert known.tabled == tabled
        assert known.lower <= known.formula <= known.upper
        assert known.within
        assert known.upper / known.lower < 1.035


@pytest.mark.parametrize("support", ["base", "face", "unknown"])
def test_a_longer_thread_in_a_boss_never_holds_less(support):
    """Its further threads may carry nothing; found at M3, 2.2 D, between 1.9 and 2.1 D."""
    found = case.joint(
        case.read({**NEEDED, "thread": "M3", "engagement": "3 mm", "insert_length": "1 D",
                   "boss_diameter": "2.2 D", "boss_support": support})
    )  # fmt: skip
    lengths = np.linspace(0.3, 5.0, 400) * 3
    for state in ("original", "repaired"):
        loads = capacities(mode_inputs(found, state, lengths)).parent_thread_strip
        assert np.all(np.diff(loads) >= -1e-9 * loads[:-1])


def test_threads_that_overlap_too_little_for_the_formula_are_told():
    def told(thread):
        found = thread_repair.evaluate(case.read({**NEEDED, "thread": thread})).facts
        return [each.level for each in found if each.id == "overlap_reduced"]

    assert told("M8x1.25") == []
    assert told("4-40 UNC") == ["limit", "limit"]


@pytest.mark.parametrize(
    "parent",
    ["6061-T6", "2024-T351", "7075-T651", "A356.0-class-10", "A356.0-class-11", "A356.0-class-12",
     "C355.0-class-10", "C355.0-class-11", "C355.0-class-12"],
)  # fmt: skip
def test_final_stands_on_allowables_read_in_the_handbook(parent):
    assert evaluate(**FINAL, parent=parent).joint.parent.id == parent


def test_premium_casting_by_hand():
    """A356.0-T6 class 11, MIL-HDBK-5J Table 3.9.5.0(b): Fsu 21 ksi = 144.79 MPa.

    The printed area of M8 over 8 mm is 134.63 mm2; over 12 mm 201.945 mm2; times 144.79 MPa
    29.24 kN, less than the screw's 36.609 mm2 x 800 MPa = 29.29 kN.
    """
    found = evaluate(parent="A356.0-class-11", engagement="12 mm", insert_length="1.5 D")
    assert found.joint.parent_shear.value == pytest.approx(144.79, abs=0.005)
    assert found.original.pull_out == pytest.approx(29240, abs=5)
    assert found.original.governing_mode == "parent_thread_strip"


@pytest.mark.parametrize(
    ("screw", "area", "clause"),
    [("180-ksi", 0.0775, "agrees with the areas read"), ("220-ksi", 0.0747, "above 180 ksi")],
)
def test_the_stress_area_is_cited_as_it_is_computed(screw, area, clause):
    """ASME B1.1 has two; in2 for 3/8-16 UNC 2A, d2 0.3287 in at least: pi (d2/2 - 0.16238/16)^2 = 0.0747."""
    found = thread_repair.evaluate(
        case.read(
            {
                "thread": "3/8-16 UNC", "screw": screw, "parent": "6061-T6",
                "engagement": "0.5 in", "insert_length": "1.5 D",
            }
        )
    )  # fmt: skip
    tension = next(each for each in found.original.modes if each.mode == "screw_tension")
    assert tension.area / 25.4**2 == pytest.approx(area, abs=0.0001)
    cited = [each.clause for each in found.references if each.what.startswith("stress area")]
    assert len(cited) == 1 and clause in cited[0]


@pytest.mark.parametrize(
    ("thread", "hole", "minor"),
    [
        ("9/16-24 UNEF", "3B", 0.5625 - 1.082532 / 24),
        ("M8x1.25", "6G", (8 - 1.082532 * 1.25) / 25.4),
    ],
)
def test_at_basic_sizes_screw_and_insert_meet_at_those_of_the_screw(thread, hole, minor):
    """Neither the rounding of a class's limits, as of 3B, nor an allowance, as of 6G, is basic."""
    found = evaluate(
        thread=thread, screw="160-ksi", hole_class=hole, insert_hole_class=hole,
        screw_class="3A" if hole == "3B" else "6g", engagement="10 mm", insert_length="10 mm",
        tolerance_position="basic",
    )  # fmt: skip
    for each in found.states.values():
        assert each.sizes.inner_minor == pytest.approx(minor * 25.4, abs=1e-4)
    assert found.repaired.sizes.inner_pitch == pytest.approx(found.original.sizes.inner_pitch)
