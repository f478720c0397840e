"""Factors C1, C2, C3 of SAE paper 770420.

E. M. Alexander, Analysis and Design of Threaded Assemblies, SAE 770420 (1977); same factors in
VDI 2230-1 and ISO/TR 16224. Coefficients from memory: these are regression checks of the ends
and joints of the curves, not of the paper.
"""

import numpy as np
import pytest
from published.cases import insert_hole, original_hole

from thread_repair.strength import primary
from thread_repair.strength.methods import factored as sae


@pytest.mark.parametrize("ratio, C1", [(1.4, 0.75), (1.6, 0.91), (1.9, 1.0), (3.0, 1.0)])
def test_dilation(ratio, C1):
    assert sae.dilation_factor(ratio * 8, 8) == pytest.approx(C1, abs=1e-6)


def test_no_dilation_factor_below_the_range():
    assert np.isnan(sae.dilation_factor([11.19, np.nan], 8)).all()


@pytest.mark.parametrize(
    "Rs, C2", [(0.3, 0.897), (1, 0.897), (1.5, 1.1043), (2, 1.1668), (2.2, 1.1865)]
)
def test_external_bending(Rs, C2):
    assert sae.bending_factor(Rs, "screw") == pytest.approx(C2, abs=2e-4)
    assert primary.capped_factor(Rs, "screw") == pytest.approx(min(C2, 1), abs=2e-4)


@pytest.mark.parametrize(
    "Rs, C3",
    [
        (0.4, 1.0552), (0.5, 1.0505), (0.6, 1.0268), (0.7, 0.9918), (0.8, 0.9533),
        (0.9, 0.9191), (1.0, 0.897), (3.0, 0.897),
    ],
)  # fmt: skip
def test_internal_bending(Rs, C3):
    assert sae.bending_factor(Rs, "parent") == pytest.approx(C3, abs=2e-4)
    assert primary.capped_factor(Rs, "parent") == pytest.approx(min(C3, 1), abs=2e-4)


def test_curves_meet_their_constants():
    # the printed coefficients leave a step of 0.0003 in C2 at Rs = 1, none in C3
    above = np.nextafter(1, 2)
    assert sae.bending_factor(above, "screw") - 0.897 == pytest.approx(0.0003, abs=1e-9)
    assert sae.bending_factor(np.nextafter(1, 0), "parent") == pytest.approx(0.897, abs=1e-12)


def test_bending_factors_outside_their_ranges():
    assert np.isnan(sae.bending_factor(0.39, "parent"))
    assert np.isnan(sae.bending_factor(2.21, "screw"))
    assert primary.capped_factor(0.39, "parent") == 1
    assert primary.capped_factor(2.21, "screw") == 1


def test_strength_ratio_of_m8_in_6061():
    assert original_hole().strength_ratio == pytest.approx(0.501, abs=5e-4)
    assert insert_hole().strength_ratio == pytest.approx(0.7355, abs=5e-4)


@pytest.mark.parametrize(
    "boss, original, repaired", [(14, 0.977, 0.802), (16, 1, 0.944), (18, 1, 0.999)]
)
def test_boss_of_m8_before_and_after(boss, original, repaired):
    # derived: D is the major diameter of the hole actually tapped
    assert sae.inputs_dilation_factor(original_hole(boss_diameter=boss)) == pytest.approx(
        original, abs=6e-4
    )
    assert sae.inputs_dilation_factor(insert_hole(boss_diameter=boss)) == pytest.approx(
        repaired, abs=6e-4
    )


def test_smallest_boss_without_loss():
    # derived: 1.9 D is 15.2 mm for M8, 18.3 mm for its insert hole
    for hole, boss in ((original_hole, 15.2), (insert_hole, 18.29)):
        assert sae.inputs_dilation_factor(hole(boss_diameter=boss)) == pytest.approx(1, abs=1e-3)
        assert sae.inputs_dilation_factor(hole(boss_diameter=boss - 0.5)) < 1
