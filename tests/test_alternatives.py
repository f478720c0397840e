"""The other repairs: what each holds, what it leaves of the wall, and why it is dropped."""

import math
from dataclasses import replace

import pytest

from thread_repair import alternatives as options
from thread_repair import case as cases
from thread_repair import evaluation, threads
from thread_repair.alternatives import Circumstances

NEEDED = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "12 mm",
    "insert_length": "12 mm",
}


def judged(**changes):
    case = cases.read({**NEEDED, **changes})
    return {each.option: each for each in evaluation.alternatives(case, evaluation.evaluate(case))}


def test_every_option_of_the_job_is_there():
    assert list(judged()) == [
        "leave-as-damaged", "longer-engagement", "larger-screw", "wire-insert-1D",
        "wire-insert-1.5D", "wire-insert-2D", "wire-insert-2.5D", "wire-insert-3D", "bush-thin",
        "bush-heavy", "reject",
    ]  # fmt: skip


def test_the_insert_of_the_case_is_what_the_comparison_says():
    case = cases.read({**NEEDED, "boss_diameter": "20 mm", "screw_reach": "11 mm"})
    found = evaluation.evaluate(case)
    chosen = {a.option: a for a in evaluation.alternatives(case, found)}["wire-insert-1.5D"]
    assert chosen.pull_out == pytest.approx(found.repaired.pull_out, rel=1e-12)
    assert chosen.strength == pytest.approx(found.repaired.strength, rel=1e-12)
    assert chosen.ratio == pytest.approx(found.pull_out_ratio, rel=1e-12)
    assert chosen.wall == pytest.approx((20 - 9.624) / 2, abs=1e-3)


def test_a_damaged_thread_holds_in_proportion_to_what_is_left():
    half = judged(damaged_fraction="0.5")["leave-as-damaged"]
    assert half.ratio == pytest.approx(0.5)
    assert half.verdict == "dropped"
    assert "before the strongest screw breaks" in half.reason
    unknown = judged()["leave-as-damaged"]
    assert math.isnan(unknown.pull_out)
    assert "damaged_fraction" in unknown.reason
    assert "no sound thread" in judged(damaged_fraction="1")["leave-as-damaged"].reason.lower()


def test_a_damaged_thread_may_still_hold():
    """24 mm in 6061-T6 strip far above the strongest screw: losing a quarter changes nothing."""
    left = judged(damaged_fraction="0.25", engagement="24 mm")["leave-as-damaged"]
    assert left.verdict == "kept"


def test_longer_engagement_counts_the_lost_thread_once():
    found = judged(damaged_fraction="0.5", engagement_available="18 mm")["longer-engagement"]
    assert found.engaged == pytest.approx(12)
    assert found.ratio == pytest.approx(1)
    assert found.verdict == "kept"


@pytest.mark.parametrize(
    ("thread", "hole_class", "larger"),
    [
        ("M8x1.25", "6H", "M10x1.5"),  # M9 would leave the root of the old thread
        ("M3x0.5", "6H", "M4x0.7"),
        ("M24x3", "6H", "M30x3.5"),  # M27 is a second choice of ISO 261
        ("1/4-20 UNC", "2B", "5/16-18 UNC"),
        ("3/8 BSF", "medium", "7/16 BSF"),
    ],
)
def test_the_next_larger_screw_removes_the_old_thread(thread, hole_class, larger):
    old = threads.thread(thread)
    new = options.next_larger(old, hole_class)
    assert new.designation == larger
    assert threads.internal_limits(new, hole_class).minor_max >= old.major


def test_there_is_no_larger_screw_at_the_end_of_the_series():
    assert options.next_larger(threads.thread("M64x6"), "6H") is None


def test_a_class_that_ends_at_a_size_drops_the_larger_screw():
    """ISO 898-1 lists class 9.8 up to M16 only."""
    found = judged(thread="M16", screw="9.8", engagement="24 mm", insert_length="24 mm")
    assert found["larger-screw"].verdict == "dropped"
    assert "9.8" in found["larger-screw"].reason


def test_a_shallow_hole_drops_the_long_inserts():
    found = judged(hole_kind="blind", hole_depth="20 mm", tap="bottoming")
    assert found["wire-insert-1.5D"].verdict == "chosen"
    assert "bottoming tap" in found["wire-insert-1.5D"].reason
    assert found["wire-insert-2D"].reason.startswith("It needs a hole of 21")
    assert found["wire-insert-2D"].verdict == "dropped"


def test_an_insert_beyond_the_screw_gains_nothing_and_says_so():
    found = judged(screw_reach="13 mm")
    assert found["wire-insert-3D"].pull_out == found["wire-insert-2D"].pull_out
    assert "the screw reaches" in found["wire-insert-3D"].reason


def test_a_bush_strips_on_its_outside():
    """Basic sizes: 7/8 of the cylinder, whatever the pitch (60 degree geometry)."""
    joint = cases.joint(cases.read({**NEEDED, "tolerance_position": "basic"}))
    hole = options.bush_inputs(joint, 14.0).hole
    from thread_repair.strength.methods.fed_std_h28 import internal_area

    assert float(internal_area(hole)) == pytest.approx(0.875 * math.pi * 14 * 12, rel=1e-9)


def test_a_heavy_bush_leaves_less_wall_than_a_thin_one():
    found = judged(boss_diameter="24 mm", bush_diameter_thin="12 mm", bush_diameter_heavy="14 mm")
    assert found["bush-thin"].wall == pytest.approx(6)
    assert found["bush-heavy"].wall == pytest.approx(5)
    thick = judged(bush_diameter_thin="12 mm", bush_diameter_heavy="14 mm")
    assert thick["bush-heavy"].pull_out > thick["bush-thin"].pull_out


def test_a_solid_insert_has_the_outside_that_the_case_gives_or_none():
    found = judged(bush_diameter_thin="12 mm")
    assert found["bush-thin"].hole_major == 12
    assert found["bush-heavy"].verdict == "dropped" and not found["bush-heavy"].size


def test_a_thin_boss_drops_what_takes_too_much_of_it():
    solid = {"bush_diameter_thin": "11.2 mm", "bush_diameter_heavy": "13.2 mm"}
    found = judged(boss_diameter="14 mm", **solid)
    for option in ("bush-thin", "bush-heavy"):
        assert found[option].verdict == "dropped"
        assert "wall" in found[option].reason
    gone = judged(boss_diameter="14 mm", bush_diameter_heavy="14.5 mm")["bush-heavy"]
    assert "no wall is left" in gone.reason.lower()


def test_a_near_edge_drops_the_larger_hole():
    """Least 1.5 diameters of the hole tapped: 13 mm are enough for M8, not for its insert."""
    found = judged(edge_distance="13 mm", damaged_fraction="0.01", engagement_available="20 mm")
    assert found["longer-engagement"].verdict == "kept"
    assert found["wire-insert-1.5D"].verdict == "dropped"
    assert "edge" in found["wire-insert-1.5D"].reason


def test_the_factored_load_is_held_against_every_option():
    found = judged(design_load="30 kN", load_factor="1.4")
    assert found["wire-insert-1.5D"].verdict == "dropped"
    assert "factored load of 42.0 kN" in found["wire-insert-1.5D"].reason


def test_rejection_is_chosen_where_nothing_holds():
    found = judged(design_load="400 kN")
    assert {a.verdict for a in found.values()} == {"dropped", "chosen"}
    assert found["reject"].verdict == "chosen"
    assert options.summary(tuple(found.values())).startswith("No option holds")


def test_the_summary_names_what_would_hold_where_the_insert_does_not():
    found = judged(insert_length="1 D")
    assert found["wire-insert-1D"].verdict == "dropped"
    text = options.summary(tuple(found.values()))
    assert text.startswith("The insert of the case does not hold")
    assert "wire thread insert (1.5 D" in text


def test_an_odd_length_is_judged_beside_the_standard_ones():
    found = judged(insert_length="13 mm")
    assert found["wire-insert-1.625D"].verdict == "chosen"
    assert len(found) == 12


def test_measured_diameters_fall_back_to_minimum_material():
    joint = cases.joint(cases.read(NEEDED))
    measured = replace(joint, tolerance_position="measured", measured=None)
    nothing = Circumstances()
    one, other = options.alternatives(joint, nothing), options.alternatives(measured, nothing)
    assert [a.verdict for a in one] == [a.verdict for a in other]


def test_every_option_names_a_source():
    for each in options.dispositions().values():
        assert each.reference.clause
        assert each.usual and each.drawback


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("damaged_fraction", "1.2", "at most 1"),
        ("damaged_fraction", "0", "not a factor"),
        ("bush_diameter_thin", "8 mm", "larger than the screw"),
        ("engagement_available", "6 mm", "less than the engagement"),
    ],
)
def test_impossible_entries_are_refused(key, value, words):
    with pytest.raises(ValueError, match=words):
        cases.read({**NEEDED, key: value})


def test_a_thin_part_is_named_where_it_ends_the_thread():
    reason = judged(part_thickness="12.5 mm")["wire-insert-1.5D"].reason
    assert "the part holds" in reason and "the screw reaches" not in reason
