"""Load sharing along the thread against published statements.

- D. G. Sopwith, The distribution of load in screw threads, Proc. IMechE 159 (1948). Abstract read:
  the peak is at the bearing face, 2 to 4 or more times the mean, and nearly independent of the
  length of the nut; a softer nut evens the load; a turnbuckle is better than a nut.
- J. N. Goodier, J. Appl. Mech. 7 (1940). Abstract read: stretch of the bolt and compression of
  the nut concentrate the load at the base.
- S. M. Tipton and J. Daily, Machine Design, 14 January 2011 (trade journal). Read: the first
  three threads carry 81 % of the load.
- J. A. Lopez-Campos et al., Symmetry 10 (2018) 335. Abstract read: the first three threads carry
  more than 50 %.
- A. Yamamoto, Theory and computation of threaded fasteners (1980): the compliance terms. From
  memory; numbers below marked so are regression values, not checks against the book.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from thread_repair import tables
from thread_repair.strength.sharing.chain import chain_of
from thread_repair.strength.sharing.compliance import line_compliance, thread_compliance
from thread_repair.strength.sharing.distribution import (
    ToothLaw,
    elastic_sharing,
    end_intensity,
    strip_load,
)


def nut(
    *,
    major=10.0,
    pitch=1.5,
    length=8.4,
    outside=16.0,
    screw_modulus=205e3,
    parent_modulus=205e3,
    parent_poisson=0.3,
    boundary="compression",
    segments=4,
):
    """An M10 steel nut on a steel bolt, unless said otherwise."""
    pitch_diameter = major - 0.649519 * pitch
    screw = thread_compliance(side="screw", pitch=pitch, pitch_diameter=pitch_diameter, poisson=0.3)
    parent = thread_compliance(
        side="parent",
        pitch=pitch,
        pitch_diameter=pitch_diameter,
        poisson=parent_poisson,
        outer_diameter=outside,
    )
    helix = {"pitch": pitch, "pitch_diameter": pitch_diameter}
    compliance = line_compliance(screw.total, modulus=screw_modulus, **helix) + line_compliance(
        parent.total, modulus=parent_modulus, **helix
    )
    chain = chain_of(
        length=length,
        pitch=pitch,
        screw_area=np.pi / 4 * (major - 0.938194 * pitch) ** 2,
        parent_area=np.pi / 4 * (outside**2 - major**2),
        screw_modulus=screw_modulus,
        parent_modulus=parent_modulus,
        boundary=boundary,
        segments_per_pitch=segments,
    )
    return elastic_sharing(chain, compliance)


def test_peak_is_at_the_bearing_face_and_two_to_four_times_the_mean():
    """Sopwith 1948, abstract. Usual heights of steel nuts, M6 to M24, 0.8 to 1.5 diameters."""
    for major, pitch, flats in ((6, 1, 10), (10, 1.5, 16), (16, 2, 24), (24, 3, 36)):
        for height in (0.8, 1.0, 1.5):
            found = nut(major=major, pitch=pitch, length=height * major, outside=flats)
            assert found.face_over_mean > found.far_over_mean
            assert 1.9 < found.peak_over_mean < 4.2


def test_peak_load_hardly_depends_on_the_length_of_the_nut():
    """Sopwith 1948, abstract: the maximum (the load of the first thread) for a given total."""
    shares = [nut(length=length).first_thread_share for length in (8.4, 10, 15, 20)]
    assert max(shares) / min(shares) < 1.08


def test_softer_nut_and_turnbuckle_even_the_load():
    """Sopwith 1948, abstract."""
    steel = nut()
    assert nut(parent_modulus=70e3, parent_poisson=0.33).peak_over_mean < steel.peak_over_mean
    assert nut(boundary="tension").peak_over_mean < steel.peak_over_mean


def test_stretch_of_the_bolt_and_compression_of_the_nut_each_concentrate_the_load():
    """Goodier 1940, abstract."""
    both = nut().peak_over_mean
    assert 1 < nut(length=0.01).peak_over_mean < 1.01
    assert nut(outside=24).peak_over_mean < both  # less compression of the nut


def test_first_three_threads_carry_more_than_half_and_less_than_the_trade_figure():
    """Symmetry 2018: above 50 %; Machine Design 2011: 81 % (a trade statement, no conditions).

    This model gives about 71 % for a standard steel nut: it lies between, and the trade figure
    is not reproduced. The test records the difference rather than hiding it.
    """
    rows = tables.rows("load_sharing_statements.csv")
    said = [row for row in rows if row["quantity"] == "first_three_share"]
    (research, _), (trade, most) = ((row["low"], row["high"]) for row in said)
    assert (research, trade, most) == ("0.5", "0.81", "0.81")
    share = nut().loads[:3].sum()
    assert float(research) < share < float(trade)
    assert_allclose(share, 0.71, atol=0.01)


@pytest.mark.parametrize(
    ("x", "intensity", "demand", "first_yield"),
    [(1, 1.313, 1.5, 0.7616), (2, 2.0746, 3.0, 0.482), (3, 3.0149, 5.5, 0.3317)],
)
def test_closed_forms(x, intensity, demand, first_yield):
    """x coth x: theory of 1940/1948, memory. Demand and first yield: derived from the same
    equation with perfectly plastic threads."""
    assert_allclose(end_intensity(x), intensity, atol=1e-4)
    # A joint of that length parameter: length 1, strain 1 per N, threads of compliance 1 / x^2.
    chain = chain_of(
        length=1, pitch=0.02, screw_area=1, parent_area=1, screw_modulus=1, parent_modulus=np.inf
    )
    assert_allclose(elastic_sharing(chain, 1 / x**2).ductility_demand, demand, atol=1e-4)
    brittle = ToothLaw(compliance=1 / x**2, yield_load=1, ultimate_load=1, rupture_slip=1 / x**2)
    assert_allclose(strip_load(chain, brittle), first_yield, atol=1e-4)


@pytest.mark.parametrize(
    ("side", "terms"),
    [("screw", (0.0285, 1.3792, 0.2094, 1.069)), ("parent", (0.0606, 1.5121, 0.2666, 1.0386))],
)
def test_compliance_terms_of_the_60_degree_profile(side, terms):
    """Yamamoto 1980; formulas from memory, numbers computed from them: a regression test."""
    k = thread_compliance(side=side, pitch=1.5, pitch_diameter=9.026, poisson=0.3)
    assert_allclose((k.bending, k.shear, k.root_rotation, k.root_shear), terms, atol=1e-3)


def test_m10_nut():
    """M10 nut 16 mm across flats, 8.4 mm high; computed from the recalled terms: regression."""
    found = nut(segments=16)
    assert_allclose(found.length_parameter / 8.4, 0.2378, rtol=0.01)
    assert_allclose(found.peak_over_mean, 2.07, rtol=0.01)
    assert_allclose(found.first_thread_share, 0.314, rtol=0.01)


@pytest.mark.parametrize(
    (
        "modulus",
        "poisson",
        "outside",
        "length",
        "x",
        "peak_nut",
        "face_tension",
        "first_nut",
        "first_tension",
    ),
    [
        (205e3, 0.3, 24, 8, 2.12, 2.18, 2.04, 0.29, 0.27),
        (68.3e3, 0.33, 24, 8, 1.57, 1.71, 1.49, 0.24, 0.21),
        (68.3e3, 0.33, 24, 12, 2.35, 2.39, 1.98, 0.22, 0.18),
        (68.3e3, 0.33, 24, 16, 3.13, 3.15, 2.53, 0.22, 0.18),
        (45e3, 0.35, 24, 16, 2.77, 2.79, 2.07, 0.20, 0.15),
        (68.3e3, 0.33, 14, 12, 2.86, 2.88, 1.57, 0.26, 0.14),
    ],
)
def test_m8_blocks(
    modulus, poisson, outside, length, x, peak_nut, face_tension, first_nut, first_tension
):
    """M8 in steel, aluminium and magnesium: closed forms worked out apart from this solver.

    Derived from the recalled terms; tolerance half the last digit plus the grid's 0.1 %.
    """
    size = {
        "major": 8.0,
        "pitch": 1.25,
        "parent_modulus": modulus,
        "parent_poisson": poisson,
        "outside": outside,
        "length": length,
        "segments": 16,
    }
    pressed, held = nut(**size), nut(**size, boundary="tension")
    assert_allclose(pressed.length_parameter, x, atol=0.006)
    assert_allclose(pressed.peak_over_mean, peak_nut, atol=0.008)
    assert_allclose(held.face_over_mean, face_tension, atol=0.010)
    assert_allclose(pressed.first_thread_share, first_nut, atol=0.006)
    assert_allclose(held.first_thread_share, first_tension, atol=0.006)
