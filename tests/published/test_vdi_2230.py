"""Required engagement by VDI 2230-1.

VDI 2230 Part 1 (2003, 2015), clause 5.5.5, step R8. From memory, the 0.8 P read in a quotation;
the lengths are derived from the formula for M8x1.25, 6061-T6 (Fsu 186.2 MPa), a screw of at most
1000 MPa: regression checks.
"""

import numpy as np
import pytest
from published.cases import insert_hole, original_hole

from thread_repair.materials import shear_ratios
from thread_repair.strength.methods import METHODS, factored

LOAD = 1000 * 36.609


@pytest.mark.parametrize("hole, length", [(original_hole, 12.1), (insert_hole, 9.1)])
def test_required_engagement(hole, length):
    assert METHODS["vdi_2230"].required_length(hole(), LOAD) == pytest.approx(length, abs=0.05)


@pytest.mark.parametrize("hole", [original_hole, insert_hole])
def test_the_load_of_an_engagement_is_the_inverse(hole):
    length = METHODS["vdi_2230"].required_length(hole(), LOAD)
    assert METHODS["vdi_2230"].strip(hole(length=length), "parent").capacity == pytest.approx(LOAD)


def test_ends_do_not_bear():
    assert factored.effective_length([10, 0.5], 1.25) == pytest.approx([9, 0])
    assert METHODS["vdi_2230"].strip(original_hole(length=1.0), "parent").capacity == 0


def test_shear_ratios():
    """Guideline, table of shear ratios: aluminium 0.7, grey iron 1.1 to 1.4, nodular iron 0.9."""
    for family, ratio in (("2xxx wrought aluminium", 0.70), ("cast aluminium", 0.70),
                          ("grey iron", 1.1), ("ductile iron", 0.90)):  # fmt: skip
        (own,) = (r for r in shear_ratios(family) if r.reference.source == "vdi-2230-1")
        assert own.ratio == ratio
        assert not own.reference.confirmed


def test_outside_the_range_of_the_factors_there_is_no_value():
    weak = original_hole(parent_tensile=150.0, parent_shear=100.0)
    result = METHODS["vdi_2230"].strip(weak, "parent")
    assert np.isnan(result.capacity)
    assert not result.valid
    assert "no_c3" in [note.id for note in result.notes]
