"""The one-third rule of NASA RP-1228.

R. T. Barrett, Fastener Design Manual, NASA RP-1228, March 1990: pull-out load of tapped holes and
inserts, P = pi dm Fs L / 3; 1/3 is an empirical allowance, 1/2 would be perfect sharing. Read as
reprinted by the author in Handbook of Bolts and Bolted Joints, DOI 10.1201/9781482273786-117.
The document has no worked number; the one below is computed from the formula as read.
"""

import pytest
from published.cases import insert_hole, original_hole

from thread_repair.strength.methods import METHODS


def test_rule():
    hole = original_hole(length=12, internal_pitch_diameter=7.188, parent_shear=186.16)
    result = METHODS["nasa_rp_1228"].strip(hole, "parent")
    assert result.capacity == pytest.approx(16815, rel=1e-3)
    assert METHODS["nasa_rp_1228"].required_length(hole, result.capacity) == pytest.approx(12)


@pytest.mark.parametrize(
    "major, pitch, ratio", [(6, 1, 1.2428), (8, 1.25, 1.2259), (10, 1.5, 1.2159)]
)
def test_ratio_of_insert_hole_to_original_at_basic_size(major, pitch, ratio):
    # derived: (d + 0.6495 P) / (d - 0.6495 P)
    sizes = {"major_basic": major, "pitch": pitch, "length": major}
    original = original_hole(internal_pitch_diameter=major - 0.649519 * pitch, **sizes)
    repaired = insert_hole(internal_pitch_diameter=major + 0.649519 * pitch, **sizes)
    loads = [
        METHODS["nasa_rp_1228"].strip(hole, "parent").capacity for hole in (original, repaired)
    ]
    assert loads[1] / loads[0] == pytest.approx(ratio, abs=5e-5)
