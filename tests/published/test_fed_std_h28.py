"""Shear areas of M8x1.25 6H/6g by FED-STD-H28/2B (1991), Appendix B.

Formula from memory; its least areas agree with a printed table (test_handbook_shear_areas). The
basic and insert-hole values are computed, not read: they pin the form down.
"""

import pytest
from published.cases import insert_hole, original_hole

BASIC = {
    "external_major": 8.0,
    "external_pitch_diameter": 7.188,
    "internal_minor": 6.647,
    "internal_pitch_diameter": 7.188,
}


@pytest.mark.parametrize("length, internal, external", [(8, 134.63, 97.29), (16, 269.26, 194.58)])
def test_least_areas(length, internal, external):
    hole = original_hole(length=length)
    assert hole.area("parent") == pytest.approx(internal, abs=0.01)
    assert hole.area("screw") == pytest.approx(external, abs=0.01)


@pytest.mark.parametrize("length, internal, external", [(8, 175.94, 125.27), (16, 351.88, 250.54)])
def test_basic_areas(length, internal, external):
    hole = original_hole(length=length, **BASIC)
    # 0.03: the basic diameters above are rounded to the micrometre
    assert hole.area("parent") == pytest.approx(internal, abs=0.03)
    assert hole.area("screw") == pytest.approx(external, abs=0.03)


@pytest.mark.parametrize("length, least, basic", [(8, 197.67, 211.64), (16, 395.35, 423.28)])
def test_insert_hole(length, least, basic):
    assert insert_hole(length=length).area("parent") == pytest.approx(least, abs=0.01)
    hole = insert_hole(length=length, internal_pitch_diameter=8.8119)
    assert hole.area("parent") == pytest.approx(basic, abs=0.01)


def test_a_crest_a_tenth_of_a_pitch_lower_costs_a_twelfth():
    whole = insert_hole().area("parent")
    lowered = insert_hole(external_major=8 + 1.199038 * 1.25).area("parent")
    assert 1 - lowered / whole == pytest.approx(0.083, abs=5e-4)
