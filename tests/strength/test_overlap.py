"""Threads that overlap little: what the flanks bear, by hand, and what the bounds say of it."""

import dataclasses
import math

import numpy as np
import pytest
from published.cases import insert_hole, original_hole

from thread_repair import case, joint
from thread_repair.case import joint as joint_of
from thread_repair.errors import InputErrors
from thread_repair.joint.bounds import bracket
from thread_repair.joint.margins import CERTIFIED, LoadCase, certified_margins
from thread_repair.strength import primary
from thread_repair.strength.collapse.bounds import cell_bounds
from thread_repair.strength.modes import capacities
from thread_repair.strength.overlap import bearing_ratio, bearing_stress, overlap_factor
from thread_repair.study import study

M8 = {
    "thread": "M8",
    "screw": "8.8",
    "parent": "EN-AW-6082-T6",
    "engagement": "12 mm",
    "insert_length": "1.5 D",
    "tolerance_position": "measured",
}
#: Rupture decides: the yield ratio is higher than the factors are apart.
FACTORS = {"load_factor": "2.5", "yield_factor": "1"}
GRAZING = {"measured_screw_major": "7.90", "measured_hole_minor": "7.899"}


def evaluated(**changes):
    return joint.evaluate(joint_of(case.read({**M8, **changes})))


def test_a_micrometre_of_overlap_carries_next_to_nothing():
    found = evaluated(**GRAZING)
    state = found.original
    # pi/4 (7.90^2 - 7.899^2) = 0.012409 mm2 a turn, 12 / 1.25 = 9.6 turns: 0.11912 mm2;
    # 2 (1 + pi/6) = 3.0472 times the shear strength; C3 at most 1 and never below 0.897.
    shear = found.joint.parent_shear.value
    whole = 0.11912 * 3.0472 * shear
    assert 0.897 * whole * 0.999 <= state.pull_out <= whole * 1.001 < 1000
    assert state.pull_out_mode == state.governing_mode == "flank_bearing"
    # 0.001 mm over 5/8 H = 0.54127 x 1.25 mm of each side
    assert state.sizes.thread_height == pytest.approx(0.001 / (2 * 0.54127 * 1.25), rel=1e-3)
    (said,) = (each for each in found.facts if each.id == "measured_outside_class")
    assert said.level == "limit" and said.values["diameter"].id == "hole_minor"
    assert said.values["measured"].value == 7.899
    assert said.values["limit"].value == pytest.approx(6.912)


def test_the_flanks_of_the_insert_hole_are_those_of_its_own_diameters():
    found = evaluated(measured_screw_major="7.90", measured_insert_hole_minor="9.26")
    state = found.repaired
    # crest 8 + 1.299038 x 1.25, in micrometres 9.624, less 8 - 7.760 of a screw of 6g: 9.384 mm;
    # pi/4 (9.384^2 - 9.26^2) = 1.8157 mm2 a turn
    assert state.sizes.crest == pytest.approx(9.384)
    turns = state.engagement / 1.25
    bearing = state.mode("flank_bearing")
    assert bearing.area == pytest.approx(1.8157 * turns, rel=1e-4)
    assert bearing.stress == pytest.approx(3.0472 * found.joint.parent_shear.value, rel=1e-4)
    assert state.pull_out_mode == "flank_bearing"
    assert found.original.pull_out_mode == "parent_thread_strip"


def test_flanks_that_do_not_touch_are_refused():
    with pytest.raises(InputErrors, match="do not overlap"):
        evaluated(measured_screw_major="7.90", measured_hole_minor="7.90")


def test_sizes_that_do_not_exist_yet_have_the_limits_of_their_class():
    found = evaluated(measured_screw_major="7.90")
    least = joint.evaluate(joint_of(case.read({**M8, "tolerance_position": "minimum-material"})))
    for name in ("hole_pitch", "hole_minor", "screw_pitch"):
        assert getattr(found.original.sizes, name) == getattr(least.original.sizes, name)
    assert found.repaired.sizes.hole_minor == least.repaired.sizes.hole_minor
    assert found.original.sizes.crest == 7.90


def test_bearing_is_that_of_a_wedge():
    # half plane: 2 + pi; right angle: 2, times the shear strength
    assert bearing_stress(100, math.tan(math.radians(89.999999))) == pytest.approx(514.16, rel=1e-4)
    assert bearing_stress(100, 1e-9) == pytest.approx(200, rel=1e-6)


@pytest.mark.parametrize("minor", [7.5, 7.3])
def test_flank_bearing_lies_between_the_certified_bounds_of_a_small_overlap(minor):
    sizes = {"pitch": 1.25, "hole_minor": minor, "hole_pitch_diameter": 7.348}
    found = cell_bounds(screw_major=7.76, hole_major=8.0, **sizes)
    ratio = bearing_ratio(crest=7.76, tan_half_angle=1 / math.sqrt(3), **sizes)
    assert found.lower / found.formula < ratio < found.upper / found.formula
    assert overlap_factor(ratio) < found.upper / found.formula


def test_flank_bearing_does_not_govern_threads_within_their_class():
    # M8 6H/6g: 62.54 mm2 x 3.0472 against 134.63 mm2, 1.416; the insert hole has more overlap
    for hole in (original_hole(), insert_hole()):
        inner = {"screw_major": 7.76, "insert_pitch_diameter": 7.348, "wire_shear": 600}
        loads = capacities(dataclasses.replace(hole, **inner))
        assert loads.flank_bearing > 1.4 * loads.parent_thread_strip
        assert primary.METHOD.strip(hole, "parent").factors["overlap"] == 1


def test_the_required_length_follows_the_load_that_is_counted():
    hole = original_hole(hole_minor=7.5)
    length = 20_000.0 / capacities(hole.with_length(1.0)).pull_out
    at_it = hole.with_length(length)
    loads = capacities(at_it)
    assert loads.pull_out == pytest.approx(20_000.0)
    assert loads.pull_out == loads.flank_bearing


def test_the_certified_minimum_has_a_margin_of_its_own():
    found = joint.evaluate(
        joint_of(case.read({**M8, "tolerance_position": "minimum-material", "engagement": "8 mm"}))
    )
    strip = found.original.mode("parent_thread_strip").capacity
    (least, _) = certified_margins(found, (LoadCase(id="limit_load_ultimate", load=0.99 * strip),))
    assert (least.state, least.mode, least.against) == (
        "original", "parent_thread_strip", CERTIFIED,
    )  # fmt: skip
    # the table of bounds prints 0.9792 for these sizes
    assert least.capacity == pytest.approx(0.9792 * strip, rel=1e-4)
    assert least.margin == pytest.approx(0.9792 / 0.99 - 1, abs=1e-4)


def test_a_repair_that_only_the_formula_carries_is_conditional():
    entries = {name: value for name, value in M8.items() if name != "tolerance_position"}
    entries |= {"engagement": "4 mm", "insert_length": "6 mm"} | FACTORS
    strip = joint.evaluate(joint_of(case.read(entries))).repaired.pull_out
    # the table of bounds prints 0.9790 for the insert hole
    for share, met in ((0.97, True), (0.99, False)):
        found = study(case.read(entries | {"design_load": f"{share * strip / 2.5:.0f} N"}))
        by_id = {each.id: each for each in found.criteria}
        assert by_id["margin_parent_thread_strip"].met
        assert by_id["certified_minimum"].met is met
        assert ("certified_minimum" in [name for _, name in found.conclusion.conditions]) is not met


def test_sweeps_and_states_count_the_same():
    found = evaluated(**GRAZING | {"measured_hole_minor": "7.35"})
    table = joint.sweep(found.joint, lengths=[12.0], parents={"own": found.joint.strengths})
    assert np.allclose(table["pull_out_N"], [found.original.pull_out, found.repaired.pull_out])


def test_the_certified_minimum_loses_in_a_boss_what_the_formula_loses():
    entries = {**M8, "tolerance_position": "minimum-material", "boss_diameter": "15 mm"}
    state = joint.evaluate(joint_of(case.read(entries))).original
    strip = state.mode("parent_thread_strip")
    assert strip.capacity < 0.99 * strip.area * strip.stress
    found = bracket(joint_of(case.read(entries)), state)
    assert found.minimum == pytest.approx(0.9792 * strip.capacity, rel=1e-4)
    assert found.lower == pytest.approx(0.9792 * strip.area * strip.stress, rel=1e-4)


def test_the_effects_account_for_the_overlap():
    found = evaluated(measured_screw_major="7.76", measured_hole_minor="7.1")
    strips = [each.mode("parent_thread_strip") for each in found.states.values()]
    assert strips[0].factors["overlap"] < 0.99 < strips[1].factors["overlap"]
    assert [each.pull_out_mode for each in found.states.values()] == ["parent_thread_strip"] * 2
    by_name = {each.name: each.ratio for each in found.effects}
    assert by_name["mode"] == pytest.approx(1)
    assert math.prod(by_name.values()) == pytest.approx(found.pull_out_ratio)
