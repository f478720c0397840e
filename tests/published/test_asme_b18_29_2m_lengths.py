"""The insert-length table of ASME B18.29.2M-2005, Tables 7 and 8.

Read as reproduced in Machinery's Handbook, 31st edition, p. 1757: length in diameters by parent
shear strength and screw class; greatest tensile strength of each class. The table does not say
what factor it holds; it must never ask for less than the geometric need. The factors below are
derived.
"""

import math

import numpy as np
import pytest

from thread_repair import tables
from thread_repair.errors import UnknownNameError
from thread_repair.strength.areas import strip_area_internal
from thread_repair.strength.methods import asme_b18_29_2m as table

#: Metric sizes from M3 to M36, coarse and fine.
SIZES = [
    (3, 0.5), (4, 0.7), (5, 0.8), (6, 1), (8, 1), (8, 1.25), (10, 1.25), (10, 1.5), (12, 1.25),
    (12, 1.75), (14, 1.5), (14, 2), (16, 1.5), (16, 2), (20, 1.5), (20, 2.5), (24, 3), (30, 3.5),
    (36, 4),
]  # fmt: skip
PITCHES = np.array([p for _, p in SIZES])
MAJORS = np.array([d for d, _ in SIZES], dtype=float)
CELLS = [
    (row["screw_class"], float(row["parent_shear_MPa"]), row["length_diameters"])
    for row in tables.rows(table.TABLE)
]
FILLED = [(c, t) for c, t, n in CELLS if n]


def check(screw_class: str, shear: float, d=MAJORS, p=PITCHES) -> table.LengthCheck:
    """The table beside the insert hole's shear area at basic size."""
    hole = d + 1.299038 * p
    per_mm = shear * strip_area_internal(1.0, p, hole, hole - 0.649519 * p)
    stress_area = math.pi / 4 * (d - 0.938194 * p) ** 2
    need = table.screw_tensile_max(screw_class) * stress_area / per_mm
    return table.length_check(shear, screw_class, needed_length=need, major_basic=d, pitch=p)


def test_the_table_is_whole():
    assert table.screw_classes() == ("4.6", "4.8", "5.8", "8.8", "9.8", "10.9", "12.9")
    assert (len(CELLS), len(FILLED)) == (49, 42)
    assert sum(float(n) for *_, n in CELLS if n) == 71
    assert [table.screw_tensile_max(c) for c in table.screw_classes()] == [
        705, 705, 705, 1055, 1115, 1215, 1435,
    ]  # fmt: skip


def test_the_table_never_asks_for_less_than_the_geometric_need():
    factors = np.array([check(c, t).hidden_factor for c, t in FILLED])
    assert factors.size == 798
    assert factors.min() > 1
    assert factors.min() == pytest.approx(1.12, abs=5e-3)
    assert factors.max() == pytest.approx(2.65, abs=5e-3)


def test_where_the_least_factor_is():
    result = check("12.9", 250.0)
    assert SIZES[int(np.argmin(result.hidden_factor))] == (20, 1.5)
    assert result.hidden_factor.min() == pytest.approx(1.12, abs=5e-3)


def test_m8_with_the_nominal_length():
    # without the shortening of the fitted insert
    factors = []
    for screw_class, shear in FILLED:
        result = check(screw_class, shear, 8.0, 1.25)
        factors.append(result.table_diameters / result.needed_diameters)
    assert min(factors) == pytest.approx(1.51, abs=5e-3)
    assert max(factors) == pytest.approx(2.87, abs=5e-3)


def test_blank_cells_and_the_lower_row():
    assert np.isnan(table.table_diameters([69.9, 70, 149], "12.9")).all()
    np.testing.assert_array_equal(table.table_diameters([150, 199, 400], "12.9"), [3, 3, 1.5])
    assert np.isnan(table.table_diameters(math.nan, "8.8"))
    assert check("8.8", 230.0).tabulated_shear == 200
    with pytest.raises(UnknownNameError, match="unknown screw class"):
        table.table_diameters(200, "10.8")
