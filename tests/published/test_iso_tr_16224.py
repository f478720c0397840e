"""The bell mouth of ISO/TR 16224:2012, Technical aspects of nut design.

From memory: the screw's thread shears on the minor diameter D1 over 0.6 of the height and on
1.026 D1 over 0.4; the rest is SAE 770420. Scope read in the preview: static tensile overload.
Regression check, worked by hand below.
"""

import math

import pytest
from published.cases import original_hole

from thread_repair.strength.methods import METHODS


def test_bell_mouth():
    D1, d2, P, L = 6.912, 7.042, 1.25, 8.0
    straight, widened = (
        math.pi * d * L / P * (P / 2 + (d2 - d) / math.sqrt(3)) for d in (D1, 1.026 * D1)
    )
    result = METHODS["iso_tr_16224"].strip(original_hole(), "screw")
    assert result.area == pytest.approx(0.6 * straight + 0.4 * widened)
    assert result.stress == 480
    assert result.factors["C2"] == 0.897
    assert "bell_mouth_of_a_nut" in [note.id for note in result.notes]


def test_parent_is_that_of_the_paper():
    for hole in (original_hole(), original_hole(boss_diameter=14.0, length=6.0)):
        ours, paper = (METHODS[m].strip(hole, "parent") for m in ("iso_tr_16224", "sae_770420"))
        assert ours.capacity == paper.capacity
