"""Tensile stress areas as printed.

Read: ISO 898-1, nominal stress areas of coarse threads; An Introduction to the Design and Behavior
of Bolted Joints, 4th ed., table of metric stress areas; UNC and UNF stress areas of ASME B1.1, as
reproduced. Compared to half the last printed digit.
"""

from __future__ import annotations

import pytest
from printed_values import label, printed

from thread_repair import threads


@pytest.mark.parametrize("row", printed("stress_areas"), ids=label)
def test_stress_area(row: dict[str, str]) -> None:
    area = threads.stress_area(threads.thread(row["thread"]))
    if row["unit"] == "in2":
        area /= 25.4**2
    off = abs(area - float(row["printed"]))
    agrees = off <= float(row["half_last_digit"]) * (1 + 1e-9)
    assert agrees is not bool(row["known_difference"])
    assert off <= 0.005 * area
