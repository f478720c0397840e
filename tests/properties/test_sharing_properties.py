"""Load sharing holds what mechanics demands, for any joint."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from thread_repair.strength.sharing.chain import BOUNDARIES, chain_of
from thread_repair.strength.sharing.distribution import (
    ToothLaw,
    elastic_sharing,
    strip_load,
    useful_length,
)


def elastic(*, tooth_compliance, **joint):
    return elastic_sharing(chain_of(**joint), tooth_compliance)


def strip(law, **joint):
    return strip_load(chain_of(**joint), law)


few = settings(deadline=None, max_examples=40)


@st.composite
def joint_sizes(draw):
    """Threads of 4 to 12 pitches' diameter in a boss of 1.3 to 4 diameters."""
    pitch = draw(st.floats(0.3, 4.0))
    major = pitch * draw(st.floats(4.0, 12.0))
    return {
        "length": major * draw(st.floats(0.4, 4.0)),
        "pitch": pitch,
        "screw_area": 0.6 * major**2,
        "parent_area": 0.785 * major**2 * (draw(st.floats(1.3, 4.0)) ** 2 - 1),
        "screw_modulus": draw(st.floats(1e5, 2.1e5)),
        "parent_modulus": draw(st.floats(4e4, 2.1e5)),
        "boundary": draw(st.sampled_from(BOUNDARIES)),
    }


joints = joint_sizes()
compliances = st.floats(2e-6, 2e-5)
laws = st.builds(
    lambda c, y, u, ratio: ToothLaw(
        compliance=c, yield_load=y, ultimate_load=y * u, rupture_slip=y * u * c * ratio
    ),
    compliances,
    st.floats(500.0, 5000.0),
    st.floats(1.0, 1.6),
    st.floats(1.0, 30.0),
)


@few
@given(joints, compliances)
def test_loads_are_positive_and_add_up(joint, compliance):
    found = elastic(**joint, tooth_compliance=compliance)
    assert np.all(found.loads >= 0)
    assert abs(found.loads.sum() - 1) <= 1e-9
    assert found.peak_over_mean >= 1 - 1e-12
    assert found.ductility_demand >= 1


@few
@given(joints, compliances)
def test_more_compliant_threads_share_more_evenly(joint, compliance):
    stiff, soft = (
        elastic(**joint, tooth_compliance=c).peak_over_mean for c in (compliance, 1.5 * compliance)
    )
    assert soft <= stiff * (1 + 1e-9)


@few
@given(joints, laws)
def test_strip_load_lies_between_first_yield_and_the_perfectly_shared_load(joint, law):
    perfect = law.ultimate_load * joint["length"]
    slips = np.linspace(law.yield_slip, law.rupture_slip, 20)
    # A tooth that parts earlier, at the load that it has there.
    at = law.yield_load + law.hardening * (slips - law.yield_slip)
    loads = [
        strip(replace(law, ultimate_load=u, rupture_slip=s), **joint)
        for u, s in zip(at, slips, strict=True)
    ]
    assert np.all(np.diff(loads) >= -1e-9 * perfect)
    assert loads[-1] <= perfect * (1 + 1e-9)
    # Concave: a joint only softens.
    assert np.all(np.diff(loads, 2) <= 1e-6 * perfect)


@few
@given(joints, laws, st.floats(1.05, 2.0))
def test_longer_engagement_never_strips_earlier_nor_uses_its_threads_better(joint, law, factor):
    fine = joint | {"segments_per_pitch": 8}
    short = strip(law, **fine)
    long = strip(law, **fine | {"length": joint["length"] * factor})
    # The two lengths have segments of different size: allow the grid its error.
    assert long >= short * (1 - 5e-3)
    assert long / factor <= short * (1 + 5e-3)
    _, endless = useful_length(chain_of(**joint), law)
    assert endless >= 0.99 * long


@few
@given(joints, laws, st.floats(0.1, 25.4))
def test_scale_of_the_lengths_changes_loads_by_its_square_and_shares_not_at_all(joint, law, k):
    larger = joint | {
        "length": joint["length"] * k,
        "pitch": joint["pitch"] * k,
        "screw_area": joint["screw_area"] * k**2,
        "parent_area": joint["parent_area"] * k**2,
    }
    scaled = ToothLaw(
        compliance=law.compliance,
        yield_load=law.yield_load * k,
        ultimate_load=law.ultimate_load * k,
        rupture_slip=law.rupture_slip * k,
    )
    assert_allclose(strip(scaled, **larger), strip(law, **joint) * k**2, rtol=1e-6)
