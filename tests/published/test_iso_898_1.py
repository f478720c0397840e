"""ISO 898-1:2013, Mechanical properties of fasteners made of carbon steel and alloy steel -
Part 1: Bolts, screws and studs with specified property classes. Table 3 as read is in
`data/printed/strengths.csv`; classes 6.8 and 9.8 were not in what was read.
"""

import pytest

from thread_repair.materials import screw


@pytest.mark.parametrize(
    ("name", "diameter"),
    [(name, 10) for name in ("4.6", "4.8", "5.6", "5.8", "6.8", "8.8", "9.8", "10.9", "12.9")]
    + [("8.8", 20)],
)
def test_class_number_is_tensile_strength_and_yield_ratio(name, diameter):
    """Designation rule of the standard (clause 5): Rm/100 and ten times the yield ratio."""
    first, second = name.split(".")
    found = screw(name, diameter)
    assert found.tensile_min >= 100 * int(first)
    assert found.yield_ / found.tensile_min == pytest.approx(int(second) / 10, abs=0.02)
    assert 0.86 < found.proof / found.yield_ < 0.95
