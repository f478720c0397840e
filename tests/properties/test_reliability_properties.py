"""What must hold of the chance of stripping whatever the joint."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thread_repair.uncertainty.reliability.distributions import strength, tolerance, uniform
from thread_repair.uncertainty.reliability.engagement import required_engagement
from thread_repair.uncertainty.reliability.model import JointModel, StateModel, loads
from thread_repair.uncertainty.reliability.sampling import simulate

FEW = settings(max_examples=15, deadline=None)


def joint(scale=1.0, stress=1.0, length=9.0, cov=0.04):
    """An invented M8 joint, all lengths and all strengths scaled."""
    k = scale
    return JointModel(
        pitch=1.25 * k,
        original=StateModel(
            outside_diameter=tolerance(7.760 * k, 7.972 * k),
            hole_pitch_diameter=tolerance(7.188 * k, 7.348 * k),
            full_thread=uniform(length * k, (length + 0.5) * k),
        ),
        repaired=StateModel(
            outside_diameter=tolerance(9.45 * k, 9.624 * k),
            hole_pitch_diameter=tolerance(8.812 * k, 8.937 * k),
            full_thread=(length - 0.3) * k,
        ),
        parent_shear_strength=strength(186 * stress, basis="A", cov=cov),
        screw_tensile_strength=strength(800 * stress, basis="minimum", cov=0.03),
        stress_area=36.6 * k**2,
    )


@FEW
@given(scale=st.floats(0.1, 10), stress=st.floats(0.1, 10))
def test_scaling_lengths_and_strengths_scales_forces_and_leaves_the_chances(scale, stress):
    one = simulate(joint(), seed=1, n=2**10)
    other = simulate(joint(scale, stress), seed=1, n=2**10)
    np.testing.assert_allclose(
        other.strip["repaired"], scale**2 * stress * one.strip["repaired"], rtol=1e-9
    )
    for name, chance in one.probabilities.items():
        assert other.probabilities[name].estimate == pytest.approx(chance.estimate, abs=2**-9)


@FEW
@given(length=st.floats(5, 12), more=st.floats(0.1, 3))
def test_longer_engagement_never_strips_more_often(length, more):
    name = "original_strips_before_screw_breaks"
    short, long = (simulate(joint(length=x), seed=3, n=2**10) for x in (length, length + more))
    assert long.probabilities[name].estimate <= short.probabilities[name].estimate


@FEW
@given(target=st.floats(1e-7, 0.2), cov=st.floats(0.02, 0.08))
def test_rarer_targets_need_more_engagement_whatever_is_engaged_now(target, cov):
    at = required_engagement(joint(cov=cov), "original", probability=target, seed=1)
    rarer = required_engagement(joint(cov=cov), "original", probability=target / 10, seed=1)
    assert rarer.length > at.length
    elsewhere = required_engagement(
        joint(cov=cov, length=11.0), "original", probability=target, seed=1
    )
    assert elsewhere.length == pytest.approx(at.length, rel=1e-3)


@FEW
@given(index=st.integers(0, 63))
def test_arrays_give_what_single_joints_give(index):
    generator = np.random.default_rng(1)
    values = {
        "parent_shear_strength": generator.uniform(150, 250, 64),
        "original.outside_diameter": generator.uniform(7.76, 7.972, 64),
        "repaired.set_down": np.zeros(64),
    }
    model = replace(joint(), load=10000.0)
    many = loads(model, values)
    single = loads(model, {name: array[index] for name, array in values.items()})
    for state in ("original", "repaired"):
        assert many.strip[state][index] == pytest.approx(float(single.strip[state]), rel=1e-14)
