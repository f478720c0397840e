"""What must hold of the chance of stripping whatever the joint."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thread_repair import case as cases
from thread_repair.uncertainty.reliability.distributions import strength, tolerance, uniform
from thread_repair.uncertainty.reliability.engagement import required_engagement
from thread_repair.uncertainty.reliability.model import JointModel, loads
from thread_repair.uncertainty.reliability.sampling import simulate

FEW = settings(max_examples=8, deadline=None)


JOINT = cases.joint(
    cases.read({"thread": "M8x1.25", "screw": "12.9", "parent": "6061-T6", "engagement": "9 mm",
                "insert_length": "1 D"})
)  # fmt: skip


def joint(stress=1.0, length=9.0, cov=0.04):
    """An invented M8 joint, all strengths scaled."""
    return JointModel(
        joint=JOINT,
        quantities={
            "original.outside_diameter": tolerance(7.760, 7.972),
            "original.hole_pitch_diameter": tolerance(7.188, 7.348),
            "original.full_thread": uniform(length, length + 0.5),
            "repaired.outside_diameter": tolerance(9.45, 9.624),
            "repaired.hole_pitch_diameter": tolerance(8.812, 8.937),
            "repaired.full_thread": length - 0.3,
            "parent_shear_strength": strength(186 * stress, basis="A", cov=cov),
            "screw_tensile_strength": strength(800 * stress, basis="minimum", cov=0.03),
        },
    )


@FEW
@given(stress=st.floats(0.5, 1.7))
def test_scaling_strengths_scales_forces_and_leaves_the_chances(stress):
    """All but the insert's wire, which is not scaled and must not govern."""
    one = simulate(joint(), seed=1, n=2**10)
    other = simulate(joint(stress), seed=1, n=2**10)
    np.testing.assert_allclose(other.strip["repaired"], stress * one.strip["repaired"], rtol=1e-9)
    for name, chance in one.probabilities.items():
        assert other.probabilities[name].estimate == pytest.approx(chance.estimate, abs=2**-9)


@FEW
@given(length=st.floats(5, 12), more=st.floats(0.1, 3))
def test_longer_engagement_never_strips_more_often(length, more):
    name = "original_strips_before_screw_breaks"
    short, long = (simulate(joint(length=x), seed=3, n=2**10) for x in (length, length + more))
    assert long.probabilities[name].estimate <= short.probabilities[name].estimate


@settings(max_examples=5, deadline=None)  # half a second each
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
        "repaired.hole_pitch_diameter": generator.uniform(8.812, 8.937, 64),
    }
    model = joint()
    many = loads(model, values)
    single = loads(model, {name: array[index] for name, array in values.items()})
    for state in ("original", "repaired"):
        assert many.strip[state][index] == pytest.approx(float(single.strip[state]), rel=1e-14)
