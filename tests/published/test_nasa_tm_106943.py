"""Pull-out tables of NASA TM-106943.

J. A. Chambers, Preloaded Joint Analysis Methodology for Space Flight Systems, NASA TM-106943,
December 1995: eq. (76) p. 21. Read in full. Its Tables III, IV and V stand in
`data/printed/methods.csv`.
"""

import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair.report.blocks import comparison, review
from thread_repair.strength.methods.unfactored import (
    INTERNAL_SHARE,
    INTERNAL_SHARE_TABLE_III,
    OUTSIDE,
    cylinder_area,
)
from thread_repair.verification.checks import check, printed_values


@pytest.mark.parametrize(
    "row",
    [each for each in printed_values() if each.quantity == "solid_insert_load"],
    ids=lambda row: " ".join(row.arguments.values()),
)
def test_table_iii_does_not_follow_from_the_printed_equation(row):
    by_equation = check(row).computed * float(INTERNAL_SHARE / INTERNAL_SHARE_TABLE_III)
    assert by_equation < 0.87 * float(row.text)


def test_equation_76_as_printed():
    # 1/4-28, computed from the equation; the document prints no value for it
    assert 85e3 * cylinder_area(0.36, 0.25, INTERNAL_SHARE) == pytest.approx(18025, abs=0.5)


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
    modes = [
        m for state in found.states.values() for m in state.modes if m.method == "nasa_tm_106943"
    ]
    assert len(modes) == 4
    assert not any(mode.valid for mode in modes)
    assert all(OUTSIDE in mode.notes for mode in modes)
    [row] = [r for r in comparison.methods_table(study).rows if "106943" in r[0]]
    assert (row[3], row[-1]) == ("–", "no")
    figure = review.spread_figure(study)
    assert "106943" not in figure.alt
    assert "not part of the spread" in figure.caption
