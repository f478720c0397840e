"""Preload window, thermal preload and torque coefficients.

J. A. Chambers, Preloaded Joint Analysis Methodology for Space Flight Systems, NASA Technical
Memorandum 106943, December 1995. Read in full. Checked here: eqs. (3), (4), (10), (14) to (16),
the safety factors of the text. Table I and the torque coefficients: `data/printed/`.
"""

import pytest
from numpy.testing import assert_allclose

from thread_repair import tightening as tg
from thread_repair.joint.margins import LoadCase, Margin
from thread_repair.tightening.published import INCH_POUND_NM

LBF = 4.4482216152605
KSI = 6.894757293168361


def window(nominal):
    """Preload of a torque wrench as tightened, plus or minus 25 %, and with 5 % relaxation."""
    tightened = tg.tighten(
        tg.ScrewShape(major=6.35, pitch=25.4 / 28, pitch_diameter=5.76, minor_diameter=5.2,
                      bearing_diameter=8.5, flank_angle=60),
        preload=nominal,
        thread_friction=(0.1, 0.1), head_friction=(0.1, 0.1),
        error=tg.published_range("nasa-torque-wrench").error, scattered=True,
    )  # fmt: skip
    return tg.in_service(tightened.preload, relaxation=0.05)


def test_printed_factors():
    """Eqs. (14) to (16): Pmax = 1.25 T/KD, Pmin = 0.714 T/KD. (1 - u)(1 - r) would be 0.7125."""
    found = window(1.0)
    assert_allclose([found.least, found.highest], [0.714, 1.25], atol=5e-4)


@pytest.mark.parametrize("k", [0.11, 0.15, 0.20])
def test_torque_and_preload_by_the_published_coefficient(k):
    """Eq. (3): T = K D P. 1/4-28 at the table's 2011 lb: 55 to 101 in-lb, worked here by hand."""
    inch_pounds = k * 0.25 * 2011
    found = tg.torque(2011 * LBF, coefficient=k * 0.25 * 25.4)
    assert_allclose(found / INCH_POUND_NM, inch_pounds, rtol=1e-12)
    assert_allclose(tg.preload(found, coefficient=k * 0.25 * 25.4), 2011 * LBF)


def test_lubricated_coefficients_are_those_of_usual_friction():
    """The wedge formula gives the printed 0.11 to 0.15 at friction 0.07 to 0.11 (1/4-28)."""

    def k(friction):
        shape = tg.ScrewShape(pitch=25.4 / 28, pitch_diameter=5.76, bearing_diameter=8.5)
        return tg.nut_factor(shape.lever(friction, friction), major=6.35)

    lubricated = tg.published_range("nasa-lubricated")
    assert k(0.06) < lubricated.low < k(0.08)
    assert k(0.09) < lubricated.high < k(0.12)


def test_equation_10_thermal_preload():
    """Eq. (10) p. 5 is read; the example is worked here: kb 375 kN/mm, kj 5 kb, 100 K: +7.44 kN."""
    gain = tg.thermal_preload(
        stiffness=375150 * 1875750 / (375150 + 1875750),
        length=20,
        temperature_change=100,
        joint_expansion=2.34e-5,
        screw_expansion=1.15e-5,
    )
    assert_allclose(gain, 7440.5, rtol=1e-3)


def test_screw_load_and_margin():
    """Pb = Pmax + SF n phi Pet and MS = Pult/Pb - 1 (eq. 80), factors 1.25 and 2.0, untested.

    1/4-28 in 6061-T6: Table V pull-out 4660 lb with the maximum preload of Table I, 2514 lb:
    4660 / (2514 + 2 x 0.25 x 1000) - 1 = 0.5461; yield 0.0364 x 85 000 = 3094 lb against
    2514 + 1.25 x 250 = 2826.5 lb.
    """
    load = {
        "id": "maximum_preload_ultimate",
        "preload": 2514 * LBF,
        "load": 1000 * LBF,
        "share": 0.25,
    }
    ultimate, at_yield = (LoadCase(**load, factor=factor) for factor in (2.0, 1.25))
    assert_allclose(ultimate.demand / LBF, 3014)
    assert_allclose(at_yield.demand / LBF, 2826.5)
    strip = Margin(state="repaired", mode="strip", case=ultimate, capacity=4660 * LBF)
    assert_allclose(strip.margin, 0.5461, atol=5e-5)
