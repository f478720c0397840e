"""The engagement budget by hand: what is left of the nominal length, in through and blind holes.

Facts used (ASME B18.29.2M-2005, notes, read): a fitted coil is up to 0.75 P shorter than nominal;
its end lies 0.75 to 1.5 P below the face. The sheet lets either face be countersunk to half a
pitch, in which no thread is counted.
"""

from dataclasses import replace

import numpy as np
import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair.errors import InputErrors
from thread_repair.joint.lengths import budget, engaged

M8 = {
    "thread": "M8x1.25", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "12 mm",
}  # fmt: skip
PLATE = {
    "thread": "1/4-20 UNC", "screw": "J429-5", "parent": "6061-T6", "engagement": "0.375 in",
    "insert_length": "1.5 D", "hole_kind": "through",
}  # fmt: skip
INCH = 25.4


def states(**changes):
    return tr.evaluate(cases.read(changes)).states


def counted(**changes):
    return states(**changes)["repaired"].engagement


@pytest.mark.parametrize("key", ["part_thickness", "hole_depth"])
def test_an_insert_as_long_as_the_plate_is_thick_counts_what_lies_in_the_plate(key):
    """1/4-20, P = 0.050 in, 1.5 D = 0.375 in, in a plate of 0.375 in.

    Coil 0.375 - 0.75 x 0.050 = 0.3375 in, from 0.075 to 0.4125 in below the face: beyond the
    plate. The plate's thread ends at 0.375 - 0.025 = 0.350 in: 0.350 - 0.075 = 0.275 in counted.
    Without any countersink at the far side 0.375 - 0.075 = 0.300 in would be the most.
    """
    found = counted(**PLATE, **{key: "0.375 in"})
    assert found == pytest.approx(0.275 * INCH)
    assert found <= 0.300 * INCH


@pytest.mark.parametrize(
    ("thickness", "reach", "length"),
    [
        # coil 12 - 0.9375 = 11.0625, from 1.875 to 12.9375; far countersink 0.625
        (None, None, 11.0625),
        ("14 mm", None, 11.0625),  # thread to 13.375
        ("13 mm", None, 10.5),  # thread to 12.375
        ("12 mm", None, 9.5),  # thread to 11.375
        ("13 mm", "12 mm", 10.125),  # the screw ends before the thread of the plate
        ("13 mm", "12.5 mm", 10.5),  # and here behind it
    ],
)
def test_through_hole(thickness, reach, length):
    given = {"part_thickness": thickness, "screw_reach": reach}
    given = {key: value for key, value in given.items() if value}
    assert counted(**M8, **given) == pytest.approx(length)


def test_blind_hole_is_limited_by_coil_and_screw_only():
    blind = {**M8, "hole_kind": "blind", "hole_depth": "26 mm"}
    assert counted(**blind) == pytest.approx(11.0625)
    assert counted(**blind, screw_reach="10 mm") == pytest.approx(10 - 1.875)
    assert counted(**blind, part_thickness="30 mm") == pytest.approx(11.0625)


@pytest.mark.parametrize(
    ("rule", "length"),
    [
        ("quarter-to-half-turn", 11.0625 - (0.625 - 0.3125)),  # coil from 0.25 P, cone to 0.5 P
        ("flush", 11.0625 - 0.625),
    ],
)
def test_turns_in_the_countersink_are_not_counted(rule, length):
    assert counted(**M8, set_down_rule=rule) == pytest.approx(length)


def test_the_original_thread_is_no_longer_than_the_part_is_thick():
    thin = {**M8, "engagement": "15 mm", "part_thickness": "12.5 mm"}
    assert states(**thin)["original"].engagement == pytest.approx(12.5)
    short = states(**thin, screw_reach="11 mm")["original"]
    assert short.engagement == pytest.approx(11)


def test_the_steps_add_up_and_name_each_loss_once():
    for state in states(**{**M8, "set_down_rule": "flush"}, part_thickness="12 mm",
                        screw_reach="9 mm").values():  # fmt: skip
        assert sum(step.mm for step in state.budget) == pytest.approx(state.engagement)
        names = [step.step for step in state.budget]
        assert len(names) == len(set(names))


def test_lengths_broadcast():
    joint = cases.joint(cases.read({**M8, "part_thickness": "13 mm"}))
    lengths = np.array([8.0, 12.0, 16.0])
    # 8 mm: coil 7.0625 from 1.875 to 8.9375, all in the plate.
    found = engaged(budget(joint, "repaired", nominal=lengths))
    assert found == pytest.approx([7.0625, 10.5, 10.5])


def test_no_insert_is_recommended_that_the_part_is_too_thin_for():
    # 8.8 in a weak casting asks for a long insert; a plate of 13 mm never engages more than 10.5.
    weak = {**M8, "parent": "AZ91D", "part_thickness": "13 mm"}
    assert not tr.study(cases.read(weak)).recommended.length > 13


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"hole_kind": "through", "part_thickness": "13 mm", "hole_depth": "14 mm"},
         "part_thickness"),
        ({"hole_kind": "through", "part_thickness": "11 mm"}, "less than the insert's length"),
        ({"hole_kind": "blind", "hole_depth": "26 mm", "part_thickness": "20 mm"},
         "part_thickness"),
    ],
)  # fmt: skip
def test_a_thickness_that_cannot_be_is_refused(changes, says):
    with pytest.raises(InputErrors) as raised:
        cases.read({**M8, **changes})
    assert any(says in fault for fault in raised.value.faults)


def test_thickness_may_stand_under_both_names_alike():
    assert cases.read({**M8, "part_thickness": "13 mm", "hole_depth": "13 mm"})


def test_a_screw_that_ends_in_the_countersink_engages_nothing():
    """Flush, countersunk 0.625 mm, screw 0.3 mm past the face: nothing, and never less."""
    joint = cases.joint(cases.read({**M8, "set_down_rule": "flush"}))
    steps = budget(replace(joint, screw_reach=0.3), "repaired")
    assert [step.mm for step in steps] == pytest.approx([12, -0.9375, -0.625, -10.4375])
    assert engaged(steps) == pytest.approx(0, abs=1e-12)
