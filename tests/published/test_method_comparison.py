"""M8x1.25 in 6061-T6, class 8.8, thick wall: every method for both holes, in kN.

Derived table, not read: the published formulas with the diameters and strengths of `cases`.
Each row names the position of the diameters it was computed with. The table shows that the
methods differ by a factor of 2.9 for one joint.
"""

from dataclasses import replace
from functools import partial

import pytest
from published.cases import insert_hole, original_hole

from thread_repair.strength.methods import METHODS
from thread_repair.strength.methods.unfactored import INTERNAL_SHARE, cylinder_area

BASIC = {"external_major": 8.0, "internal_pitch_diameter": 7.188}
BASIC_INSERT = {"internal_pitch_diameter": 8.812}
VON_MISES = {"parent_shear": 289.6 / 3**0.5}
RATIO_07 = {"parent_shear": 0.7 * 289.6}
#: Means of the limits 6g d 7.972/7.760, d2 7.160/7.042; 6H D1 6.647/6.912, D2 7.188/7.348;
#: insert hole D2 8.812/8.937.
MEAN = {
    "external_major": 7.866,
    "external_pitch_diameter": 7.101,
    "internal_minor": 6.7795,
    "internal_pitch_diameter": 7.268,
}
MEAN_INSERT = {
    "external_pitch_diameter": 7.101,
    "internal_minor": 6.7795,
    "internal_pitch_diameter": 8.8745,
}


H28, VDI, TM, SAE, third = (
    partial(METHODS[name].strip, thread="parent")
    for name in ("fed_std_h28", "vdi_2230", "nasa_tm_106943", "sae_770420", "nasa_rp_1228")
)


def half(hole):
    """What the author of the rule of a third calls perfect sharing."""
    return replace(third(hole), factors={"share": 1 / 2})


def internal_form(hole):
    """Eq. (76) for both holes: like compared with like."""
    area = cylinder_area(hole.length, hole.hole_major_basic, INTERNAL_SHARE)
    return replace(TM(hole), area=area)


ROWS = [
    ("one third", third, BASIC, BASIC_INSERT, (11.2, 16.8, 22.4), (13.7, 20.6, 27.5)),
    ("one half", half, BASIC, BASIC_INSERT, (16.8, 25.2, 33.6), (20.6, 30.9, 41.2)),
    ("von Mises", H28, VON_MISES, VON_MISES, (22.5, 33.8, 45.0), (33.0, 49.6, 66.1)),
    ("VDI", VDI, {}, {}, (23.0, 36.2, 49.4), (31.5, 49.5, 67.5)),
    ("least", H28, {}, {}, (25.1, 37.6, 50.1), (36.8, 55.2, 73.6)),
    (
        "insert crest lower by 0.1 P",
        H28, {}, {"external_major": 8 + 1.199038 * 1.25}, (25.1, 37.6, 50.1), (33.8, 50.6, 67.5),
    ),
    ("VDI 0.7 Rm", VDI, RATIO_07, RATIO_07, (25.1, 39.4, 53.7), (34.3, 53.9, 73.5)),
    ("TM as printed", TM, {}, {}, (28.1, 42.1, 56.1), (24.2, 36.3, 48.4)),
    ("3/4 both", internal_form, {}, {}, (28.1, 42.1, 56.1), (33.8, 50.7, 67.5)),
    ("basic", H28, BASIC, BASIC_INSERT, (32.8, 49.1, 65.5), (39.4, 59.1, 78.8)),
]  # fmt: skip


@pytest.mark.parametrize(
    "strip, original, repaired, loads, insert_loads",
    [row[1:] for row in ROWS],
    ids=[row[0] for row in ROWS],
)
def test_row(strip, original, repaired, loads, insert_loads):
    lengths = [8.0, 12.0, 16.0]
    # half of the last digit printed, and the strengths above are rounded to 0.02 %
    got = strip(original_hole(length=lengths, **original)).capacity / 1e3
    assert got == pytest.approx(loads, abs=0.06)
    got = strip(insert_hole(length=lengths, **repaired)).capacity / 1e3
    assert got == pytest.approx(insert_loads, abs=0.06)


def test_row_of_mean_sizes():
    lengths = [8.0, 12.0, 16.0]
    got = SAE(original_hole(length=lengths, **MEAN)).capacity / 1e3
    assert got == pytest.approx((28.0, 42.0, 56.0), abs=0.06)
    got = SAE(insert_hole(length=lengths, **MEAN_INSERT)).capacity / 1e3
    assert got == pytest.approx((35.7, 53.5, 71.3), abs=0.06)


def test_screw():
    screw = (
        METHODS["fed_std_h28"].strip(original_hole(length=[8.0, 12.0, 16.0]), "screw").capacity
        / 1e3
    )
    assert screw == pytest.approx((46.7, 70.0, 93.4), abs=0.05)
    tension = 800 * 36.609 / 1e3
    assert tension == pytest.approx(29.3, abs=0.05)


def test_length_to_break_the_screw():
    load = 800 * 36.609
    for hole, basic, h28, rp in (
        (original_hole, BASIC, 9.35, 20.9),
        (insert_hole, BASIC_INSERT, 6.37, 17.0),
    ):
        assert METHODS["fed_std_h28"].required_length(hole(), load) == pytest.approx(h28, abs=5e-3)
        assert METHODS["nasa_rp_1228"].required_length(hole(**basic), load) == pytest.approx(
            rp, abs=0.05
        )


def test_the_methods_differ_by_up_to_2_9():
    lowest = third(original_hole(**BASIC)).capacity
    highest = H28(original_hole(**BASIC)).capacity
    assert highest / lowest == pytest.approx(2.9, abs=0.05)


def test_equal_positions_give_the_ratio_of_the_diameters():
    # at basic size the areas are 7/8 pi D L: the gain is (d + 1.299 P) / d
    ratio = H28(insert_hole(**BASIC_INSERT)).area / H28(original_hole(**BASIC)).area
    assert ratio == pytest.approx(1.203, abs=5e-4)
