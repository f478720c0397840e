"""The limit analysis against collapse loads that are known exactly.

Thick tube in plane strain under internal pressure: 2/sqrt(3) ln(b/a) times the yield stress
(R. Hill, The Mathematical Theory of Plasticity, 1950, chapter V; known from memory). Flat punch
on a half space in plane strain: (2 + pi) k (L. Prandtl, 1920; Hill 1950, chapter IX; from memory).
"""

import numpy as np
import pytest

from thread_repair.strength.collapse.certificate import certify_lower, certify_upper
from thread_repair.strength.collapse.lower import stress_field
from thread_repair.strength.collapse.mesh import Side, assemble, column_block
from thread_repair.strength.collapse.upper import velocity_field


def bounds(mesh, slip=None):
    lower = certify_lower(mesh, stress_field(mesh))
    upper = certify_upper(mesh, velocity_field(mesh, slip=slip))
    return lower.load, upper.load


def tube(columns, rows, inner=1.0, outer=2.0, height=0.2):
    radii = np.linspace(inner, outer, columns + 1)
    block = column_block(
        radii,
        np.zeros_like(radii),
        np.full_like(radii, height),
        np.linspace(0, 1, rows + 1),
        labels={"inner": "bore", "lower": "end", "upper": "end"},
    )
    kinds = {"bore": Side.DRIVER, "end": Side.ROLLER}
    return assemble([block], kinds, direction=(1.0, 0.0))


@pytest.mark.parametrize("outer", [1.3, 2.0, 3.0])
def test_thick_tube_is_bracketed_within_one_per_cent(outer):
    exact = 2 / np.sqrt(3) * np.log(outer) * 2 * np.pi * 0.2
    lower, upper = bounds(tube(24, 4, outer=outer))
    assert 0.99 * exact <= lower <= exact <= upper <= 1.01 * exact


def test_tube_refinement_tightens_both_bounds():
    exact = 2 / np.sqrt(3) * np.log(2) * 2 * np.pi * 0.2
    brackets = [bounds(tube(n, 2)) for n in (3, 6, 12)]
    lower, upper = zip(*brackets, strict=True)
    assert lower[0] < lower[1] < lower[2] < exact < upper[2] < upper[1] < upper[0]


def graded(cells, length, ratio):
    steps = ratio ** np.arange(cells)
    return np.concatenate(((0.0,), np.cumsum(steps) / steps.sum())) * length


def punch(cells, ratio, radius):
    """Half of a ring-shaped punch so large that the strain along it vanishes."""
    under = 1 - graded(cells, 1, ratio)[::-1]
    beside = 1 + graded(int(1.6 * cells), 3, ratio)
    radii = radius + np.concatenate((under, beside[1:]))
    depth = 1 - graded(int(1.3 * cells), 1, ratio)[::-1]
    top = ["punch" if r < radius + 1 - 1e-9 else "free" for r in radii[:-1]]
    block = column_block(
        radii,
        np.full_like(radii, -2.0),
        np.zeros_like(radii),
        depth,
        labels={"inner": "middle", "outer": "rock", "lower": "rock", "upper": top},
    )
    kinds = {"middle": Side.ROLLER, "punch": Side.DRIVER, "rock": Side.HELD}
    return assemble([block], kinds, direction=(0.0, -1.0))


def test_flat_punch_is_bracketed_within_two_per_cent():
    radius = 400.0  # the ring's curvature raises its load by a few tenths of a per cent
    mesh = punch(8, 1.3, radius)
    exact = (2 + np.pi) / np.sqrt(3) * 2 * np.pi * radius
    lower, upper = bounds(mesh, slip=np.ones(len(mesh.joins), dtype=bool))
    assert 0.98 * exact <= lower <= exact <= upper <= 1.02 * exact
