"""The limit analysis against collapse loads that are known exactly.

Thick tube in plane strain under internal pressure: 2/sqrt(3) ln(b/a) times the yield stress
(R. Hill, The Mathematical Theory of Plasticity, 1950, chapter V; known from memory). Flat punch
on a half space in plane strain: (2 + pi) k (L. Prandtl, 1920; Hill 1950, chapter IX; from memory).
"""

import numpy as np
import pytest

from thread_repair.verification.exact import PUNCH_RADIUS, bracket, punch, ring, tube, tube_load


@pytest.mark.parametrize("outer", [1.3, 2.0, 3.0])
def test_thick_tube_is_bracketed_within_one_per_cent(outer):
    exact = tube_load(outer)
    lower, upper = bracket(tube(24, 4, outer))
    assert 0.99 * exact <= lower <= exact <= upper <= 1.01 * exact


def test_tube_refinement_tightens_both_bounds():
    exact = tube_load(2)
    brackets = [bracket(tube(n, 2, 2)) for n in (3, 6, 12)]
    lower, upper = zip(*brackets, strict=True)
    assert lower[0] < lower[1] < lower[2] < exact < upper[2] < upper[1] < upper[0]


def test_flat_punch_is_bracketed_within_two_per_cent():
    mesh = punch()
    exact = (2 + np.pi) / np.sqrt(3) * 2 * np.pi * PUNCH_RADIUS
    lower, upper = bracket(mesh, slip=np.ones(len(mesh.joins), dtype=bool))
    assert 0.98 * exact <= lower <= exact <= upper <= 1.02 * exact


def test_smooth_plates_press_a_ring_at_its_yield_stress():
    lower, upper = bracket(ring())
    assert lower == pytest.approx(3 * np.pi, rel=2e-6)
    assert 3 * np.pi <= upper <= 1.002 * 3 * np.pi
