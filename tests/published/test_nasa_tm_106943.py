"""Pull-out tables of NASA TM-106943.

J. A. Chambers, Preloaded Joint Analysis Methodology for Space Flight Systems, NASA TM-106943,
December 1995: eq. (76) p. 21, Table III p. 22, Table IV p. 23, Table V p. 24. Read in full.
Inches and pounds; the formulas take any one unit of length.
"""

from __future__ import annotations

import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair.report.blocks import comparison, spread
from thread_repair.strength.methods.nasa_tm_106943 import (
    ID,
    INTERNAL_SHARE,
    INTERNAL_SHARE_TABLE_III,
    OUTSIDE,
    internal_area,
)

#: Table III: major diameter, insert length [in], shear strength [psi], printed load [lb].
TABLE_III = [
    ("1/4-28, S66286", 0.25, 0.360, 85e3, 21029),
    ("10-32, S66286", 0.19, 0.297, 85e3, 13185),
    ("10-32, 300 series", 0.19, 0.297, 50e3, 7756),
    ("3/8-24, S66286", 0.375, 0.485, 85e3, 42496),
    ("3/8-24, 300 series", 0.375, 0.485, 50e3, 24998),
    ("3/4-16, S66286", 0.75, 1.235, 85e3, 216424),
    ("3/4-16, 300 series", 0.75, 1.235, 50e3, 127308),
]
#: Tables IV and V: shear area of the insert's outside [in2], printed load of the insert at
#: 85 ksi and of 6061-T6 at 27 ksi [lb].
TABLES_IV_V = [
    ("8-32", 0.0669, 5687, 1806),
    ("10-32", 0.0945, 8033, 2552),
    ("1/4-28", 0.1726, 14671, 4660),
    ("5/16-24", 0.2321, 19729, 6267),
    ("1/2-20", 0.5831, 49564, 15744),
    ("5/8-18", 1.2415, 105528, 33521),
    ("3/4-16", 2.4478, 208063, 66091),
]


@pytest.mark.parametrize("name, major, length, shear, printed", TABLE_III)
def test_table_iii_follows_from_seven_eighths(name, major, length, shear, printed):
    load = shear * internal_area(length, major, share=INTERNAL_SHARE_TABLE_III)
    # 2 lb: the table's diameters and lengths are themselves rounded
    assert load == pytest.approx(printed, abs=2)


@pytest.mark.parametrize("name, major, length, shear, printed", TABLE_III)
def test_table_iii_does_not_follow_from_the_printed_equation(name, major, length, shear, printed):
    load = shear * internal_area(length, major)
    assert printed / load == pytest.approx(
        float(INTERNAL_SHARE_TABLE_III / INTERNAL_SHARE), rel=1e-3
    )
    assert load < 0.87 * printed


def test_equation_76_as_printed():
    # 1/4-28, computed from the equation; the document prints no value for it
    assert 85e3 * internal_area(0.36, 0.25) == pytest.approx(18025, abs=0.5)


@pytest.mark.parametrize("name, area, insert, parent", TABLES_IV_V)
def test_tables_iv_and_v_are_area_times_shear_strength(name, area, insert, parent):
    # the areas are printed to 0.0001 in2: half a digit is 4.3 lb at 85 ksi
    assert 85e3 * area == pytest.approx(insert, abs=4.4)
    assert 27e3 * area == pytest.approx(parent, abs=1.4)


def test_a_document_for_solid_inserts_takes_part_in_no_ratio():
    """Its title and section on inserts are about solid inserts held by keys."""
    case = cases.read(
        {
            "thread": "M8x1.25",
            "screw": "8.8",
            "parent": "6061-T6",
            "engagement": "12 mm",
            "insert_length": "1.5 D",
        }
    )
    study = tr.study(case)
    found = study.evaluation
    modes = [m for state in found.states.values() for m in state.modes if m.method == ID]
    assert len(modes) == 4
    assert not any(mode.valid for mode in modes)
    assert all(OUTSIDE in mode.notes for mode in modes)
    [row] = [r for r in comparison.methods_table(study).rows if "106943" in r[0]]
    assert (row[3], row[-1]) == ("–", "no")
    figure = spread.spread_figure(study)
    assert "106943" not in figure.alt
    assert "not part of the spread" in figure.caption
