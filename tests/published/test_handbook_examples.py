"""Worked examples of two handbooks, with their errors.

1. Handbook of Bolts and Bolted Joints (Bickford, Nassar, eds.), chapter DOI
   10.1201/9781482273786-99, abstract, read: M10x1.5 6g of class 10.9 taken as 1200 MPa in
   aluminium of 130 MPa shear strength needs 21.6 mm. The book labels 9.968 mm the least major
   diameter; it is the greatest. With the least, 9.732 mm, the length is 24.9 mm.
2. Machinery's Handbook, 24th edition, length of engagement for equal strengths (read as
   paraphrased), factor J for unequal ones (memory). M8 of class 8.8 in 6061-T6, derived: Le
   6.02 mm, J 2.00, Q 12.0 mm. The 2 in Le takes half the tensile strength for shear.
"""

import pytest
from published.cases import original_hole

from thread_repair import threads
from thread_repair.strength.methods import METHODS, unfactored
from thread_repair.strength.strip import StripInputs

M10 = threads.thread("M10x1.5")
LIMITS = threads.external_limits(M10, "6g")
HOLE = threads.internal_limits(M10, "6H")
LOAD = 1200 * 58.0


def m10(major: float) -> StripInputs:
    return original_hole(
        pitch=1.5,
        major_basic=10.0,
        external_major=major,
        external_pitch_diameter=LIMITS.pitch_min,
        internal_minor=HOLE.minor_max,
        internal_pitch_diameter=HOLE.pitch_max,
        hole_minor=HOLE.minor_max,
        hole_major_basic=10.0,
        parent_shear=130.0,
        screw_shear=720.0,
        stress_area=58.0,
    )


def test_the_printed_length_follows_from_the_greatest_major_diameter():
    assert LOAD == 69600
    assert LIMITS.major_max == 9.968  # the book: "Ds min"
    assert METHODS["fed_std_h28"].required_length(m10(9.968), LOAD) == pytest.approx(21.6, abs=0.05)


def test_the_least_major_diameter_needs_a_sixth_more():
    assert LIMITS.major_min == 9.732
    length = METHODS["fed_std_h28"].required_length(m10(LIMITS.major_min), LOAD)
    assert length == pytest.approx(24.93, abs=0.01)
    assert length / METHODS["fed_std_h28"].required_length(m10(9.968), LOAD) == pytest.approx(
        1.157, abs=5e-4
    )


def equal_strength_length(hole):
    """Le, at which the screw's shear area is twice its stress area."""
    return 2 * hole.stress_area / hole.with_length(1.0).area("screw")


def engagement(hole):
    """Q = J Le, or Le where J is below 1."""
    return equal_strength_length(hole) * max(unfactored.strength_factor(hole), 1.0)


def test_equal_and_unequal_strengths():
    hole = original_hole()
    assert equal_strength_length(hole) == pytest.approx(6.02, abs=5e-3)
    assert unfactored.strength_factor(hole) == pytest.approx(2.00, abs=5e-3)
    assert engagement(hole) == pytest.approx(12.0, abs=0.05)


def test_required_length_is_the_handbooks_engagement():
    for parent in (289.6, 900.0):  # J above and below 1
        hole = original_hole(parent_tensile=parent)
        load = 800 * 36.609
        assert METHODS["machinerys_handbook"].required_length(hole, load) == pytest.approx(
            engagement(hole)
        )
