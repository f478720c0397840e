"""Torque, preload, band, temperature and margins: behaviour, limits and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from thread_repair import tightening as tg
from thread_repair.errors import InputError, UnknownNameError

SCREW = {"pitch": 1.25, "pitch_diameter": 7.188, "bearing_diameter": 11.0}
BAND = tg.Band(least=1.0, middle=1.25, highest=1.6)


def m8(**changes):
    values = {
        **SCREW,
        "major": 8.0,
        "minor_diameter": 6.466,
        "torque_nm": 20.0,
        "thread_friction": (0.08, 0.16),
        "head_friction": (0.08, 0.16),
        "tool_accuracy": 0.04,
        "strip_load": 25e3,
        "yield_strength": 640.0,
        **changes,
    }
    return tg.tighten(**values)


def test_frictionless_screw_turns_all_torque_into_preload():
    lever = tg.torque_coefficient(**SCREW, thread_friction=0, head_friction=0)
    # One turn at T lifts the load by one pitch: 2 pi T = F P.
    assert_allclose(2 * np.pi * lever, 1.25)


def test_thread_term_is_the_printed_0_577_for_60_degrees_and_less_for_55():
    thread = {"thread_friction": 0.1, "head_friction": 0}
    base = tg.torque_coefficient(**SCREW, thread_friction=0, head_friction=0)
    metric = tg.torque_coefficient(**SCREW, **thread) - base
    whitworth = tg.torque_coefficient(**SCREW, **thread, flank_angle=55) - base
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


def test_band_combines_the_worst_of_friction_tool_and_prevailing_torque():
    found = tg.preload_band(20.0, coefficient=BAND, tool_accuracy=0.04, prevailing_nm=(0, 6))
    assert_allclose(found.highest, 20.8 * 1000 / 1.0)
    assert_allclose(found.middle, (20 - 3) * 1000 / 1.25)
    assert_allclose(found.least, (19.2 - 6) * 1000 / 1.6)


def test_torque_for_the_highest_preload_reaches_it_and_no_more():
    limit = {"coefficient": BAND, "tool_accuracy": 0.06, "prevailing_nm": (0.5, 6.0)}
    turned = tg.torque_for_highest_preload(18e3, **limit)
    assert_allclose(tg.preload_band(turned, **limit).highest, 18e3)


def test_an_oiled_thread_strips_at_less_torque():
    found = tg.strip_torque(25e3, coefficient=BAND, prevailing_nm=(0, 6))
    assert_allclose([found.least, found.middle, found.highest], [25.0, 34.25, 46.0])


def test_the_repair_takes_more_torque_for_the_same_preload_when_it_locks():
    original, repaired = m8(), m8(prevailing_nm=(0.0, 6.0))
    assert repaired.preload.least < original.preload.least
    assert repaired.preload.highest == original.preload.highest
    assert repaired.strip_torque_nm.highest == pytest.approx(original.strip_torque_nm.highest + 6)


def test_rougher_thread_friction_loses_preload_at_the_old_torque():
    smooth, rough = m8(), m8(thread_friction=(0.14, 0.24))
    assert rough.preload.middle < smooth.preload.middle
    assert rough.nut_factor.middle > smooth.nut_factor.middle


def test_most_torque_respects_the_weaker_of_thread_and_screw():
    strong, weak = m8(), m8(strip_load=9e3)
    assert strong.screw_yields_first and not weak.screw_yields_first
    for found, limit in ((strong, strong.yield_preload), (weak, 9e3)):
        at_limit = m8(torque_nm=found.most_torque_nm, strip_load=25e3)
        assert_allclose(at_limit.preload.highest, limit)


def test_a_wanted_preload_is_met_in_the_middle_of_the_band():
    found = m8(torque_nm=None, preload=12e3, prevailing_nm=(0.0, 6.0))
    assert_allclose(found.preload.middle, 12e3)
    assert_allclose(
        m8(torque_nm=found.torque_nm, prevailing_nm=(0.0, 6.0)).preload.least, found.preload.least
    )


def test_twist_lowers_the_yield_preload_and_none_of_it_leaves_the_plain_pull():
    size = {"yield_strength": 640, "pitch": 1e-9, "pitch_diameter": 7.188, "minor_diameter": 6.466}
    plain = tg.yield_preload(**size, thread_friction=0)
    assert_allclose(plain, 640 * np.pi / 4 * ((7.188 + 6.466) / 2) ** 2, rtol=1e-9)
    assert tg.yield_preload(**size | {"pitch": 1.25}, thread_friction=0.12) < plain


def test_thermal_preload_changes_sign_and_vanishes_for_equal_expansion():
    joint = {"screw_stiffness": 3e5, "joint_stiffness": 1e6, "length": 20.0}
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


def test_window_with_temperature_may_lose_all_preload():
    found = tg.preload_window(
        [1000.0, 8000.0], scatter=0.25, relaxation=0.05, thermal_gain=500.0, thermal_loss=2000.0
    )
    assert_allclose(found.highest, [1750.0, 10500.0])
    assert found.least[0] < 0 < found.least[1]


def margins(**changes):
    values = {
        "preload_least": 8e3,
        "preload_highest": 16e3,
        "external_load": 5e3,
        "load_share": 0.2,
        "strip_load": 25e3,
        "tensile_load": 29e3,
        "yield_load": 23e3,
        "ultimate_factor": 2.0,
        "yield_factor": 1.25,
        "separation_factor": 1.2,
        **changes,
    }
    return tg.tightening_margins(**values)


def test_margins_vanish_exactly_at_the_limit():
    assert_allclose(margins(strip_load=18e3).strip, 0, atol=1e-12)
    assert_allclose(margins(tensile_load=18e3).tension, 0, atol=1e-12)
    assert_allclose(margins(yield_load=17.25e3).screw_yield, 0, atol=1e-12)
    assert_allclose(margins(preload_least=4.8e3).separation, 0, atol=1e-12)


def test_margin_against_separation_without_load_or_without_preload():
    found = margins(external_load=[0.0, 0.0, 5e3], preload_least=[8e3, -1e3, -1e3])
    assert found.separation[0] == np.inf
    assert found.separation[1] == -1
    assert found.separation[2] < -1


def test_arrays_broadcast_and_scalars_give_floats():
    found = m8(torque_nm=np.array([[10.0], [20.0]]), strip_load=np.array([9e3, 25e3, 30e3]))
    assert found.preload.least.shape == (2, 1)
    assert found.most_torque_nm.shape == (3,)
    alone = m8()
    for value in (
        alone.torque_nm,
        alone.preload.least,
        alone.nut_factor.middle,
        alone.most_torque_nm,
        alone.yield_preload,
        margins().separation,
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
            r"thread_friction must be \(least, highest\), got 0.2 and 0.1",
        ),
        (lambda: m8(tool_accuracy=1.0), "tool_accuracy must be below 1, got 1"),
        (lambda: m8(head_friction=(-0.1, 0.1)), r"head_friction \(least\) must be zero or more"),
        (lambda: tg.preload_window(1.0, scatter=1.0), "scatter must be below 1"),
        (lambda: margins(load_share=1.2), "load_share must lie between 0 and 1, got 1.2"),
        (lambda: margins(preload_least=2e4), "preload_least must not be above preload_highest"),
    ],
)
def test_impossible_input_is_refused_in_one_sentence(call, text):
    with pytest.raises(InputError, match=text):
        call()


def test_unknown_names_are_refused_with_the_nearest():
    with pytest.raises(UnknownNameError, match="did you mean 'class-B'"):
        tg.published_range("clas-B")
    with pytest.raises(UnknownNameError, match="did you mean 'nut_factor'"):
        tg.published_ranges("nutfactor")


def test_every_shipped_range_is_in_order_and_sourced():
    found = tg.published_ranges()
    assert len({r.id for r in found}) == len(found)
    assert {r.quantity for r in found} == set(tg.QUANTITIES)
    for r in found:
        assert 0 < r.low <= r.middle <= r.high
        assert r.reference.clause


def test_the_caution_defers_to_the_drawing():
    assert "drawing" in tg.CAUTION and "competent person" in tg.CAUTION
