"""Where the insert does not win, the verdict says so plainly."""

import math

import pytest

from thread_repair import case as cases
from thread_repair import joint
from thread_repair.study import evaluation

NEEDED = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "12 mm",
    "insert_length": "12 mm",
}


def evaluate(**changes):
    return evaluation.evaluate(cases.read({**NEEDED, **changes}))


def effect(found, name):
    return next(e.ratio for e in found.effects if e.name == name)


def test_in_a_thin_boss():
    """SAE 770420: C1 at 14 mm is 0.977 for M8 and 0.80 for its insert hole (memory)."""
    found = evaluate(boss_diameter="14 mm")
    # No more than the curve says; certified bounds may take more from either hole.
    for state, curve in ((found.original, 0.9775), (found.repaired, 0.802)):
        factors = state.mode("parent_thread_strip").factors
        assert factors.get("wall", factors.get("C1")) <= curve
    assert effect(found, "wall") < 0.85
    assert effect(found, "diameter") > 1
    assert found.pull_out_ratio < 1


@pytest.mark.parametrize("position", ["minimum-material", "mean", "basic"])
def test_at_the_same_tolerance_with_a_shorter_fitted_length(position):
    found = evaluate(
        engagement="8 mm", insert_length="8 mm", screw_reach="8 mm", tolerance_position=position
    )
    assert found.repaired.engagement < found.original.engagement
    assert effect(found, "length") < 1 / effect(found, "diameter")
    assert found.pull_out_ratio < 1


def test_where_the_screw_thread_governs_both_states():
    found = evaluate(
        screw="4.6", parent="EN-GJS-400-15", engagement="3.5 mm", insert_length="8 mm",
        screw_reach="5.5 mm",
    )  # fmt: skip
    assert found.original.governing_mode == found.repaired.governing_mode == "screw_thread_strip"


def test_where_the_screw_breaks_first_in_both_states():
    found = evaluate(engagement="20 mm", insert_length="20 mm")
    assert found.strength_ratio == 1


@pytest.mark.parametrize("boss", ["", "14 mm", "17 mm"])
@pytest.mark.parametrize("reach", ["", "9 mm", "14 mm"])
@pytest.mark.parametrize("thread", ["M3x0.5", "M8x1.25", "1/4-20 UNC", "3/8 BSF"])
def test_budget_and_effects_add_up(thread, reach, boss):
    boss = "" if thread == "3/8 BSF" else boss
    case = cases.read({**NEEDED, "thread": thread, "screw_reach": reach, "boss_diameter": boss})
    found = joint.evaluate(cases.joint(case))
    for state in found.states.values():
        total = sum(step.mm for step in state.budget)
        assert total == pytest.approx(state.engagement, abs=1e-9)
        assert state.engagement >= 0
    assert math.prod(e.ratio for e in found.effects) == pytest.approx(
        found.pull_out_ratio, rel=1e-12
    )
