"""ISO 898-1:2013, Mechanical properties of fasteners made of carbon steel and alloy steel -
Part 1: Bolts, screws and studs with specified property classes. Table 3: tensile strength Rm,min,
yield or proof strength, stress under proof load Sp, MPa. Read in transcriptions of the table on
two technical pages; classes 6.8 and 9.8 were not among them and are not checked here.
"""

import pytest

from thread_repair.materials import screw

TABLE_3 = [
    # class, diameter, Rm min, yield, Sp
    ("4.6", 10, 400, 240, 225),
    ("4.8", 10, 420, 340, 310),
    ("5.6", 10, 500, 300, 280),
    ("5.8", 10, 520, 420, 380),
    ("8.8", 16, 800, 640, 580),
    ("8.8", 18, 830, 660, 600),
    ("10.9", 10, 1040, 940, 830),
    ("12.9", 10, 1220, 1100, 970),
]


@pytest.mark.parametrize(("name", "diameter", "tensile", "yield_", "proof"), TABLE_3)
def test_table_3(name, diameter, tensile, yield_, proof):
    found = screw(name, diameter)
    assert (found.tensile_min, found.yield_, found.proof) == (tensile, yield_, proof)
    assert all(found.reference(p).how_known == "read" for p in ("tensile_min", "yield", "proof"))


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
