"""Shear areas: shapes, NaN, refusals and the properties the formula must have."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thread_repair.errors import GeometryError, InputError
from thread_repair.strength.areas import (
    strip_area_external,
    strip_area_internal,
    tan_half_angle,
)
from thread_repair.threads.profile import TAN_30

M8 = {"pitch": 1.25, "screw_major": 7.760, "hole_pitch_diameter": 7.348}


def test_scalars_give_a_float():
    assert type(strip_area_internal(8, 1.25, 7.760, 7.348)) is np.float64
    assert isinstance(strip_area_external(8, 1.25, 6.912, 7.042), float)


def test_broadcasting_is_one_call_per_element():
    lengths, pitches = np.array([[4.0], [8.0]]), np.array([1.0, 1.25])
    areas = strip_area_internal(lengths, pitches, 7.76, 7.348)
    assert areas.shape == (2, 2)
    for i, j in np.ndindex(2, 2):
        assert areas[i, j] == strip_area_internal(lengths[i, 0], pitches[j], 7.76, 7.348)


def test_nan_stays_nan_and_zero_length_has_no_area():
    areas = strip_area_internal([0, 8, math.nan], 1.25, 7.76, [7.348, math.nan, 7.348])
    assert areas[0] == 0
    assert np.isnan(areas[1:]).all()


def test_threads_that_do_not_overlap_are_refused():
    with pytest.raises(
        GeometryError,
        match=r"screw_major 6 mm does not fit hole_pitch_diameter 7.348 mm at pitch 1.25 mm "
        r"at index 1: the threads do not overlap",
    ):
        strip_area_internal(8, 1.25, [7.76, 6], 7.348)
    with pytest.raises(GeometryError, match="do not overlap"):
        strip_area_external(8, 1.25, 8.2, 7.042)


def test_interchanged_sizes_are_refused():
    # the pitch diameter of the original hole with the outside of an insert
    with pytest.raises(GeometryError, match="beyond a sharp root"):
        strip_area_internal(8, 1.25, 9.624, 7.348)


@pytest.mark.parametrize("name", ["pitch", "screw_major", "hole_pitch_diameter"])
def test_sizes_must_be_above_zero(name):
    with pytest.raises(InputError, match=f"{name} must be above zero, got -1"):
        strip_area_internal(8, **(M8 | {name: -1}))


def test_flank_angle():
    assert tan_half_angle(60) == pytest.approx(TAN_30, rel=1e-15)
    assert tan_half_angle(55) == pytest.approx(0.5205670506)
    with pytest.raises(InputError, match="below 180"):
        tan_half_angle([60, 190])


def test_whitworth_tooth_at_the_pitch_line_is_half_a_pitch_at_any_angle():
    # on the pitch cylinder the flank angle has no effect: A = pi d2 L / 2
    for tangent in (TAN_30, tan_half_angle(55)):
        area = strip_area_internal(10, 1.27, 8, 8, tan_half_angle=tangent)
        assert area == pytest.approx(math.pi * 8 * 10 / 2)


def test_basic_sizes_give_seven_eighths_and_three_quarters():
    # Basic ISO profile, ISO 68-1: D2 = d - 3/4 H, D1 = d - 5/4 H, H = sqrt(3)/2 P.
    d, P = 8.0, 1.25
    H = math.sqrt(3) / 2 * P
    D2, D1 = d - 0.75 * H, d - 1.25 * H
    assert strip_area_internal(d, P, d, D2) == pytest.approx(7 / 8 * math.pi * d * d)
    assert strip_area_external(d, P, D1, D2) == pytest.approx(3 / 4 * math.pi * D1 * d)


sizes = st.floats(0.3, 6.0).flatmap(
    lambda p: st.tuples(
        st.just(p), st.floats(2.5, 16.0).map(lambda k: k * p), st.floats(-0.2, 0.45)
    )
)


@given(sizes, st.floats(0.5, 30.0), st.floats(1e-3, 0.03))
@settings(max_examples=60, deadline=None)
def test_looser_tolerance_never_helps_and_scale_is_squared(size, turns, shift):
    P, d, rise = size
    D2, L = d - rise * P, turns * P
    area = strip_area_internal(L, P, d, D2)
    assert strip_area_internal(L, P, d, D2 + shift * P) < area
    assert strip_area_internal(L, P, d - shift * P, D2) < area
    assert strip_area_internal(2 * L, P, d, D2) == pytest.approx(2 * area)
    k = 25.4
    assert strip_area_internal(k * L, k * P, k * d, k * D2) == pytest.approx(k * k * area)
