"""What stands in one column of a printed table belongs with what stands in the others.

The columns are named in a data file by a path into a record; a wrong path prints a right number in
the wrong place, which no comparison of a table with itself can see.
"""

import re
from pathlib import Path

import pytest

import thread_repair as tr
from thread_repair.case import part_file
from thread_repair.report.blocks import comparison, part
from thread_repair.report.results import results

REPORTS = Path(__file__).parents[2] / "reports"
#: Three digits are printed of each number.
DIGITS = 0.01


@pytest.fixture(scope="module")
def study():
    entered = tr.load(REPORTS / "demo-rig-plate" / "case.yaml").entered
    return tr.study(tr.read({**entered, "report_units": "SI"}))


def first_number(cell):
    return float(re.search(r"[-+−]?\d+(\.\d+)?", str(cell))[0].replace("−", "-"))


def columns(table):
    """The rows, each by the first words of its heads."""
    heads = [str(head).partition(",")[0] for head in table.header]
    return [dict(zip(heads, map(str, row), strict=True)) for row in table.rows]


def test_a_margin_is_that_of_the_capacity_and_demand_in_its_row(study):
    rows = columns(comparison.margins_table(study))
    assert len(rows) == len(study.margins)
    for row in rows:
        capacity, demand = first_number(row["Capacity"]), first_number(row["Demand"])
        margin = first_number(row["Margin of safety"])
        assert margin == pytest.approx(capacity / demand - 1, abs=2 * DIGITS * capacity / demand)


def test_a_demand_is_that_of_the_preload_factors_and_load_in_its_row(study):
    for row in columns(comparison.margins_table(study)):
        demand = first_number(row["Load"])
        for factor in row["Factors × load factor"].split("×"):
            demand *= float(factor)
        if row["Preload"] != "–":
            demand += first_number(row["Preload"])
        assert first_number(row["Demand"]) == pytest.approx(demand, rel=DIGITS), row


def test_a_capacity_is_that_of_the_area_stress_and_factor_in_its_row(study):
    rows = columns(comparison.modes_table(study))
    assert len(rows) == sum(m.primary for s in study.evaluation.states.values() for m in s.modes)
    for row in rows:
        found = first_number(row["Area"]) * first_number(row["Stress"]) / 1000
        capacity = first_number(row["Capacity"])
        assert capacity == pytest.approx(found * first_number(row["Factor"]), rel=DIGITS), row


def test_the_key_numbers_of_a_hole_are_those_of_its_results():
    given = part_file.load(REPORTS / "demo-part" / "submission.yaml")
    for holes in tr.submission(given.shared, given.holes).joints.values():
        study = holes[0].study
        states = results(study.case, with_chances=False)["states"]
        rows = {str(row[0]).partition(",")[0]: row[1:] for row in part.numbers_table(study).rows}
        for key, head, scale in (
            ("engagement_mm", "Length of thread engagement", 1),
            ("pull_out_N", "Thread-stripping strength", 1000),
            ("strength_N", "Joint capacity", 1000),
        ):
            printed = [first_number(cell) for cell in rows[head]]
            wanted = [states[name][key] / scale for name in ("original", "repaired")]
            assert printed == pytest.approx(wanted, rel=DIGITS), (study, head)
