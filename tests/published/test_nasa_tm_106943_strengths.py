"""NASA TM-106943 (1995), Preloaded Joint Analysis Methodology for Space Flight Systems, Table V
p. 24: pull-out load of 6061-T6 parents around solid inserts, lb, and the shear area, in2. Read.
The load over the area is the shear strength that the memorandum takes from MIL-HDBK-5F
Table 3.6.2.0(b1): 27 ksi. P. 7 and 8: strengths of S66286 and 300-series screws, ksi. Read.
"""

import pytest

from thread_repair.materials import parent, screw, shear_strength

POUND = 4.4482216152605
INCH = 25.4
KSI = 6.894757

TABLE_V = [
    # thread, area in2, load lb
    ("#8-32", 0.0669, 1806),
    ("#10-32", 0.0945, 2552),
    ("1/4-28", 0.1726, 4660),
    ("1/2-20", 0.5831, 15744),
    ("5/8-18", 1.2415, 33521),
    ("3/4-16", 2.4478, 66091),
]


@pytest.mark.parametrize(("thread", "area", "load"), TABLE_V)
def test_table_v(thread, area, load):
    strength = shear_strength(parent("6061-T6")).value
    # The loads are whole pounds of areas printed to 0.0001 in2: half a digit of each.
    tolerance = 0.5 + 0.00005 * 27000
    assert strength * area * INCH**2 / POUND == pytest.approx(load, abs=tolerance)


@pytest.mark.parametrize(
    ("name", "tensile", "yield_", "shear"), [("S66286", 130, 85, 85), ("300-series", 73, 26, 50)]
)
def test_screw_strengths(name, tensile, yield_, shear):
    found = screw(name, 6.35)
    assert found.tensile_min == pytest.approx(tensile * KSI, abs=1e-9)
    assert found.yield_ == pytest.approx(yield_ * KSI, abs=1e-9)
    assert found.shear_over_tensile * found.tensile_min == pytest.approx(shear * KSI, abs=1e-9)
