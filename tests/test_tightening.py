"""Torque, preload, band, temperature and margins: behaviour, limits and refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from thread_repair import tightening as tg
from thread_repair import words
from thread_repair.errors import InputError, UnknownNameError

SCREW = {"pitch": 1.25, "pitch_diameter": 7.188, "bearing_diameter": 11.0}
CORE = tg.ScrewShape(pitch=1.25, pitch_diameter=7.188, minor_diameter=6.466)
BAND = tg.Band(least=1.0, middle=1.25, highest=1.6)


M8 = tg.ScrewShape(**SCREW, minor_diameter=6.466, major=8.0, flank_angle=60.0)


def m8(**changes):
    values = {
        "torque_nm": 20.0,
        "thread_friction": (0.08, 0.16),
        "head_friction": (0.08, 0.16),
        "error": 0.04,
        **changes,
    }
    return tg.tighten(M8, **values)


def test_frictionless_screw_turns_all_torque_into_preload():
    lever = tg.ScrewShape(**SCREW).lever(0, 0)
    # One turn at T lifts the load by one pitch: 2 pi T = F P.
    assert_allclose(2 * np.pi * lever, 1.25)


def test_thread_term_is_the_printed_0_577_for_60_degrees_and_less_for_55():
    base = tg.ScrewShape(**SCREW).lever(0, 0)
    metric = tg.ScrewShape(**SCREW).lever(0.1, 0) - base
    whitworth = tg.ScrewShape(**SCREW, flank_angle=55).lever(0.1, 0) - base
    assert_allclose(metric, 0.577 * 0.1 * 7.188, rtol=1e-3)
    assert_allclose(whitworth / metric, np.cos(np.radians(30)) / np.cos(np.radians(27.5)))


@given(st.floats(10, 1e5), st.floats(0.2, 10), st.floats(0, 50))
@settings(deadline=None, max_examples=50)
def test_torque_and_preload_are_inverse(force, lever, prevailing):
    turned = tg.torque(force, coefficient=lever, prevailing_nm=prevailing)
    back = tg.preload(turned, coefficient=lever, prevailing_nm=prevailing)
    assert_allclose(back, force, rtol=1e-9, atol=1e-6)


def test_prevailing_torque_is_added_to_the_seating_torque():
    """1 + 4 = 5 in-lb, example of a university's space hardware handbook (read)."""
    assert_allclose(tg.torque(4000.0, coefficient=1.0, prevailing_nm=1.0), 5.0)
    assert_allclose(tg.preload(5.0, coefficient=1.0, prevailing_nm=1.0), 4000.0)
    assert_allclose(tg.preload([1.0, 2.0], coefficient=1.0, prevailing_nm=1.0), [0.0, 1000.0])


def test_lines_by_hand():
    """20 N·m, wrench 4 %, prevailing torque 6 N·m on top, of which the error reaches the preload.

    Thread lever 1.25/2pi + mu 3.594 x 1.154701: 0.198944 + 4.149994 mu; head lever 5.5 mu.
    mu 0.08: 0.530943 and 0.44; mu 0.16: 0.862943 and 0.88 mm.
    Maximum: (26 x 1.04 - 6) / 0.970943 = 21 040 / 0.970943 = 21 669.7 N, its twist
    21 669.7 x 0.530943 + 6000 = 17 505.4 N·mm.
    Twisted, thread 0.16 and head 0.08: 21 040 / 1.302943 = 16 148.1 N, twist 19 934.9 N·mm.
    Minimum: (26 x 0.96 - 6) / 1.742943 = 18 960 / 1.742943 = 10 878.2 N.
    """
    found = m8(prevailing_nm=6.0)
    assert found.lines["maximum"].preload == pytest.approx(21_669.7, rel=1e-5)
    assert found.lines["maximum"].twist_nm == pytest.approx(17.5054, rel=1e-5)
    assert found.lines["twisted"].preload == pytest.approx(16_148.1, rel=1e-5)
    assert found.lines["twisted"].twist_nm == pytest.approx(19.9349, rel=1e-5)
    assert found.lines["minimum"].preload == pytest.approx(10_878.2, rel=1e-5)
    assert (found.preload.least, found.preload.highest) == (
        found.lines["minimum"].preload,
        found.lines["maximum"].preload,
    )
    # The middle has neither error: 20 000 / (0.198944 + 0.12 x 9.649994) mm.
    assert found.preload.middle == pytest.approx(20_000 / 1.356943, rel=1e-5)


def test_lines_of_a_published_scatter_by_hand():
    """Plus or minus a quarter about 20 000 / 1.356943 = 14 739.0 N.

    Maximum 18 423.7 N at the middle friction: twist 18 423.7 x (0.198944 + 0.12 x 4.149994).
    Minimum 11 054.2 N: friction alone makes the lever 1.356943 / 0.75 = 1.809257, so that it is
    0.12 x (1.809257 - 0.198944) / (1.356943 - 0.198944) = 0.166872.
    """
    found = m8(error=0.25, scattered=True)
    assert found.lines["maximum"].preload == pytest.approx(18_423.7, rel=1e-5)
    assert found.lines["maximum"].twist_nm == pytest.approx(18.4237 * 0.696943, rel=1e-5)
    assert found.lines["minimum"].preload == pytest.approx(11_054.2, rel=1e-5)
    assert found.lines["minimum"].thread_friction == pytest.approx(0.166872, rel=1e-5)
    assert found.lines["minimum"].head_friction == pytest.approx(0.166872, rel=1e-5)
    assert (found.lines["twisted"].preload, found.lines["twisted"].twist_nm) == (
        found.lines["maximum"].preload, found.lines["maximum"].twist_nm,
    )  # fmt: skip
    # Measured by its elongation, that preload is there at any friction: 0.16 twists it most.
    found = m8(error=0.25, scattered=True, by_torque=False)
    assert found.lines["twisted"].preload == found.lines["maximum"].preload
    assert found.lines["twisted"].twist_nm == pytest.approx(18.4237 * 0.862943, rel=1e-5)


@given(
    st.floats(0.03, 0.3), st.floats(0, 0.3), st.floats(0.03, 0.3), st.floats(0, 0.3),
    st.floats(0, 1), st.floats(0, 1), st.floats(0, 8), st.floats(0, 20e3),
)  # fmt: skip
@settings(deadline=None, max_examples=200)
def test_no_friction_within_the_ranges_is_worse_for_the_screw(
    thread, width, head, spread, in_thread, under_head, prevailing, load
):
    """Stress of preload, twist and load together, anywhere in the range, against the two lines."""

    def stress(line):
        return M8.stress(line.preload + load, line.twist_nm)

    ends = {"thread_friction": (thread, thread + width), "head_friction": (head, head + spread)}
    found = m8(**ends, prevailing_nm=prevailing)
    one = (thread + in_thread * width, head + under_head * spread)
    inside = m8(
        thread_friction=(one[0], one[0]), head_friction=(one[1], one[1]), prevailing_nm=prevailing
    )
    worst = max(stress(found.lines["maximum"]), stress(found.lines["twisted"]))
    assert stress(inside.lines["maximum"]) <= worst * (1 + 1e-12)


def test_twist_lowers_the_yield_preload_by_hand():
    """M8, 640 MPa, d0 6.827 mm: area 36.606 mm2, section modulus of twist 62.476 mm3.

    12 N·m through the shank: 192.08 MPa; 640^2 = s^2 + 3 x 192.08^2, s = 546.7 MPa. With 15 kN,
    409.8 MPa, the equivalent stress is sqrt(409.8^2 + 3 x 192.08^2) = 527.8 MPa.
    """
    assert CORE.stress(15e3, 12.0) == pytest.approx(527.8, rel=2e-4)
    assert CORE.stress(546.7 * 36.606, 12.0) == pytest.approx(640, rel=2e-4)


@given(st.floats(0, 0.4), st.floats(0, 20))
@settings(deadline=None, max_examples=50)
def test_the_yield_preload_is_where_the_stress_is_the_yield_strength(friction, prevailing):
    force = CORE.yield_preload(640, friction=friction, prevailing_nm=prevailing)
    twist = force * (1.25 / (2 * np.pi) + friction * 7.188 / np.sqrt(3)) / 1000 + prevailing
    assert_allclose(CORE.stress(force, twist), 640)


def test_a_prevailing_torque_that_yields_the_screw_alone_leaves_no_preload():
    assert CORE.yield_preload(640, friction=0.1, prevailing_nm=24) == 0


def test_an_oiled_thread_strips_at_less_torque():
    found = BAND.map(lambda lever: tg.torque(25e3, coefficient=lever))
    assert_allclose([found.least, found.middle, found.highest], [25.0, 31.25, 40.0])


def test_rougher_thread_friction_loses_preload_at_the_old_torque():
    smooth, rough = m8(), m8(thread_friction=(0.14, 0.24))
    assert rough.preload.middle < smooth.preload.middle
    assert rough.nut_factor.middle > smooth.nut_factor.middle


def test_a_wanted_preload_is_met_in_the_middle_of_the_band():
    found = m8(torque_nm=None, preload=12e3, prevailing_nm=6.0)
    assert_allclose(found.preload.middle, 12e3)
    assert_allclose(
        m8(torque_nm=found.torque_nm, prevailing_nm=6.0).preload.least, found.preload.least
    )


def test_twist_lowers_the_yield_preload_and_none_of_it_leaves_the_plain_pull():
    flat = tg.ScrewShape(pitch=1e-9, pitch_diameter=7.188, minor_diameter=6.466)
    plain = flat.yield_preload(640, friction=0)
    assert_allclose(plain, 640 * np.pi / 4 * ((7.188 + 6.466) / 2) ** 2, rtol=1e-9)
    assert CORE.yield_preload(640, friction=0.12) < plain


def test_thermal_preload_changes_sign_and_vanishes_for_equal_expansion():
    joint = {"stiffness": 3e5 * 1e6 / (3e5 + 1e6), "length": 20.0}
    hot = tg.thermal_preload(
        **joint, temperature_change=80, screw_expansion=11.5e-6, joint_expansion=23.4e-6
    )
    cold = tg.thermal_preload(
        **joint, temperature_change=-80, screw_expansion=11.5e-6, joint_expansion=23.4e-6
    )
    same = tg.thermal_preload(
        **joint, temperature_change=80, screw_expansion=17e-6, joint_expansion=17e-6
    )
    assert hot > 0
    assert_allclose(cold, -hot)
    assert same == 0


def test_service_may_lose_all_preload():
    """Maximum + gain; minimum / 1.05 - loss: 750 / 1.05 - 2000 = -1285.7, none; 6000 / 1.05 - 2000."""
    tightened = tg.Band(least=np.array([750.0, 6e3]), middle=1e3, highest=np.array([1250.0, 1e4]))
    found = tg.in_service(tightened, relaxation=0.05, thermal_gain=500.0, thermal_loss=2000.0)
    assert_allclose(found.highest, [1750.0, 10500.0])
    assert_allclose(found.least, [0.0, 3714.286], rtol=1e-6)


def test_arrays_broadcast_and_scalars_give_floats():
    found = m8(torque_nm=np.array([[10.0], [20.0]]), prevailing_nm=np.array([0.0, 3.0, 6.0]))
    assert found.preload.least.shape == found.lines["twisted"].twist_nm.shape == (2, 3)
    alone = m8()
    for value in (
        alone.torque_nm,
        alone.preload.least,
        alone.nut_factor.middle,
        alone.lines["maximum"].twist_nm,
        alone.lines["minimum"].head_friction,
    ):
        assert isinstance(value, float)


def test_nan_friction_passes_through():
    assert np.isnan(m8(thread_friction=(np.nan, np.nan)).preload.middle)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (
            lambda: tg.preload(5.0, coefficient=1.0, prevailing_nm=6.0),
            "torque_nm must be above the prevailing torque, got 5 N·m against 6 N·m",
        ),
        (lambda: m8(preload=1e4), "give either torque_nm or preload"),
        (lambda: m8(torque_nm=None), "give either torque_nm or preload"),
        (
            lambda: m8(thread_friction=(0.2, 0.1)),
            r"thread_friction must be \(minimum, maximum\), got 0.2 and 0.1",
        ),
        (lambda: m8(error=1.0), "error must be below 1, got 1"),
        (lambda: m8(head_friction=(-0.1, 0.1)), r"head_friction \(minimum\) must be zero or more"),
    ],
)
def test_impossible_input_is_refused_in_one_sentence(call, text):
    with pytest.raises(InputError, match=text):
        call()


def test_unknown_names_are_refused_with_the_nearest():
    with pytest.raises(UnknownNameError, match="did you mean 'class-B'"):
        tg.published_range("clas-B")


def test_every_shipped_range_is_in_order_and_sourced():
    found = tg.published_ranges()
    assert len({r.id for r in found}) == len(found)
    for r in found:
        assert 0 < r.low <= r.high
        assert r.reference.clause


def test_the_caution_defers_to_the_drawing():
    text = words.sentence(tg.CAUTION)
    assert "drawing" in text and "competent person" in text


def test_several_relaxations_at_once():
    """10 kN less 2 and 10 % of what remains: 9803.9 and 9090.9 N; middle and highest as they are."""
    tightened = tg.Band(least=10e3, middle=12e3, highest=14e3)
    found = tg.in_service(tightened, relaxation=[0.02, 0.10])
    assert found.least == pytest.approx([9803.92, 9090.91], abs=0.01)
    assert found.middle == 12e3
    assert found.highest == pytest.approx(14e3)


def test_a_whitworth_screw_yields_by_its_own_flanks():
    """55 degrees: 1 / cos 27.5 is 1.127382 instead of 1.154701; half of mu d2 times that.

    Twist 0.198944 + 0.15 x 7.188 / 2 x 1.127382 = 0.806715 mm a N on a bar of 6.827 mm.
    """
    arm = 1.25 / (2 * math.pi) + 0.15 * 7.188 / 2 / math.cos(math.radians(27.5))
    assert arm == pytest.approx(0.806715, abs=1e-6)
    whitworth = tg.ScrewShape(
        pitch=1.25, pitch_diameter=7.188, minor_diameter=6.466, flank_angle=55
    )
    force = whitworth.yield_preload(640, friction=0.15)
    pull = force / (math.pi / 4 * 6.827**2)
    twist = force * arm / (math.pi / 16 * 6.827**3)
    assert math.hypot(pull, math.sqrt(3) * twist) == pytest.approx(640)
