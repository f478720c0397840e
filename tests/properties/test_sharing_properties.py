"""Load sharing holds what mechanics demands, for any joint."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from thread_repair.strength import sharing as sh

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
        "boundary": draw(st.sampled_from(sh.BOUNDARIES)),
    }


joints = joint_sizes()
compliances = st.floats(2e-6, 2e-5)
laws = st.builds(
    lambda c, y, u, ratio: sh.ToothLaw(
        compliance=c, yield_load=y, ultimate_load=y * u, rupture_slip=y * u * c * ratio
    ),
    compliances,
    st.floats(500.0, 5000.0),
    st.floats(1.0, 1.6),
    st.floats(1.0, 30.0),
)


@few
@given(joints, compliances, st.floats(1.0, 1e6))
def test_loads_are_positive_and_add_up(joint, compliance, load):
    found = sh.elastic_sharing(**joint, tooth_compliance=compliance, load=load)
    assert np.all(found.loads >= 0)
    assert abs(found.loads.sum() - load) <= 1e-9 * load
    assert found.peak_over_mean >= 1 - 1e-12
    assert found.ductility_demand >= 1


@few
@given(joints, compliances)
def test_more_compliant_threads_share_more_evenly(joint, compliance):
    stiff, soft = (
        sh.elastic_sharing(**joint, tooth_compliance=c).peak_over_mean
        for c in (compliance, 1.5 * compliance)
    )
    assert soft <= stiff * (1 + 1e-9)


@few
@given(joints, laws)
def test_curve_rises_between_first_yield_and_the_perfectly_shared_load(joint, law):
    curve = sh.load_slip_curve(law, **joint)
    scale = curve.plastic_load
    assert np.all(np.diff(curve.load) >= -1e-9 * scale)
    assert np.all(np.diff(curve.displacement) >= 0)
    assert curve.first_yield_load <= curve.strip_load * (1 + 1e-9)
    assert curve.efficiency <= 1 + 1e-9
    # Concave: a joint only softens.
    slope = np.diff(curve.load)[1:] / np.diff(curve.displacement)[1:]
    assert np.all(np.diff(slope) <= 1e-6 * slope[0])


@few
@given(joints, laws, st.floats(1.05, 2.0))
def test_longer_engagement_never_strips_earlier_nor_uses_its_threads_better(joint, law, factor):
    grid = {"segments_per_pitch": 8}
    short = sh.load_slip_curve(law, **joint, **grid)
    long = sh.load_slip_curve(law, **joint | {"length": joint["length"] * factor}, **grid)
    # The two lengths have segments of different size: allow the grid its error.
    assert long.strip_load >= short.strip_load * (1 - 5e-3)
    assert long.efficiency <= short.efficiency * (1 + 5e-3)
    sizes = {name: v for name, v in joint.items() if name not in ("length", "pitch")}
    endless = sh.useful_length(law, **sizes).saturation_load
    assert endless >= 0.99 * long.strip_load


@few
@given(joints, laws, st.floats(0.1, 25.4))
def test_scale_of_the_lengths_changes_loads_by_its_square_and_shares_not_at_all(joint, law, k):
    larger = joint | {
        "length": joint["length"] * k,
        "pitch": joint["pitch"] * k,
        "screw_area": joint["screw_area"] * k**2,
        "parent_area": joint["parent_area"] * k**2,
    }
    scaled = sh.ToothLaw(
        compliance=law.compliance,
        yield_load=law.yield_load * k,
        ultimate_load=law.ultimate_load * k,
        rupture_slip=law.rupture_slip * k,
    )
    one, two = sh.load_slip_curve(law, **joint), sh.load_slip_curve(scaled, **larger)
    assert_allclose(two.strip_load, one.strip_load * k**2, rtol=1e-6)
    assert_allclose(two.efficiency, one.efficiency, rtol=1e-6)
