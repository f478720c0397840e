"""What stands in one column of a printed table belongs with what stands in the others.

The columns are named in a data file by a path into a record; a wrong path prints a right number in
the wrong place, which no comparison of a table with itself can see.
"""

import re
from pathlib import Path

import pytest

import thread_repair as tr
from thread_repair import words
from thread_repair.report.blocks import comparison, conclusion, review, tightening
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


def numbers(cell):
    """All numbers of a cell; none of a dash."""
    found = re.findall(r"[-+−]?\d+(?:\.\d+)?", str(cell).partition(" (")[0])
    return [float(each.replace("−", "-")) for each in found]


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


STATES = ("original", "repaired")


def of_criteria(study, document):
    table = conclusion.criteria_table(study)
    for row, each in zip(columns(table), document["criteria"], strict=True):
        scale = 1000 if each["dimension"] == "force" else 1
        for state in STATES:
            value = each[state]
            yield row[state.capitalize()], [] if value is None else [value / scale]


def of_least_margins(study, document):
    least = study.least_margins.values()
    for row, each in zip(columns(conclusion.modes_table(study)), least, strict=True):
        for state in STATES:
            yield row[state.capitalize()], [each[state].margin] if state in each else []


def of_methods(study, document):
    for row, each in zip(columns(comparison.methods_table(study))[1:], study.methods, strict=True):
        for state in STATES:
            rival = study.evaluation.states[state].rivals[each.method].capacity
            assert getattr(each, state) == rival
            yield row[state.capitalize()], [rival / 1000]


def of_sizes(study, document):
    rows, names = columns(comparison.sizes_table(study)), words.catalogue()["terms"]["size"]
    for row, name in list(zip(rows, names, strict=True))[:-1]:
        for state in STATES:
            yield row[state.capitalize()], [getattr(study.evaluation.states[state].sizes, name)]


def of_required(study, document):
    rows = columns(review.required_table(study))
    for state in STATES:
        found = document["states"][state]["required_by_method"]
        for row, each in zip(rows, found, strict=True):
            cell = row[f"{state.capitalize()}: screw at minimum … maximum strength"]
            yield cell, [each["weakest_screw_mm"], each["strongest_screw_mm"]]


def of_tightening(study, document):
    rows = {row["Quantity"].partition(",")[0]: row for row in columns(tightening.table(study))}
    for head, name, scale in (
        ("Nut factor K", "nut_factor_{}", 1),
        ("Preload as tightened", "preload_{}_N", 1000),
        ("Preload in service", "service_preload_{}_N", 1000),
        ("Torque at thread stripping", "strip_torque_{}_Nm", 1),
        ("Permissible tightening torque", "window_{}_Nm", 1),
    ):
        for state in STATES:
            found = document["tightening"]["states"][state]
            yield (
                rows[head][f"{state.capitalize()} thread"],
                [found[name.format(end)] / scale for end in ("min", "max")],
            )
    for state in STATES:
        head = f"{state.capitalize()} thread"
        yield rows["Friction under the head"][head], document["tightening"]["head_friction"]
        found = document["tightening"]["states"][state]
        yield rows["Friction in the thread"][head], found["thread_friction"]


def of_sharing(study, document):
    for row in columns(review.sharing_table(study)):
        found = document["sharing"][row["Condition"].split()[0]]
        if row["Coil"] != "slides":
            yield row["Peak over mean"], [found["peak_over_mean"]]
            yield row["Required slip ratio"], [found["ductility_demand"]]
            yield row["Available slip ratio"], [found["ductility_capacity"]]
            yield row["Useful length"], [found["useful_length_mm"]]


def of_options(study, document):
    rows = columns(comparison.alternatives_table(study))
    for row, each in zip(rows, document["alternatives"], strict=True):
        for head, name, scale in (
            ("Stripping strength", "pull_out_N", 1000),
            ("Minimum margin of safety", "least_margin", 1),
            ("Edge / D", "edge_over_diameter", 1),
            ("Drilled depth", "drill_depth_bottoming_mm", 1),
        ):
            yield row[head], [] if each[name] is None else [each[name] / scale]


@pytest.mark.parametrize(
    "table",
    [of_criteria, of_least_margins, of_methods, of_sizes, of_required, of_tightening, of_sharing,
     of_options],
)  # fmt: skip
def test_a_number_stands_under_its_own_condition(study, table):
    """The insert has another friction, so that both conditions are tightened differently."""
    other = tr.study(tr.read({**study.case.entered, "insert_friction": "0.12 to 0.18"}))
    pairs = list(table(other, results(other, with_chances=False)))
    assert len(pairs) >= 8
    for cell, wanted in pairs:
        assert numbers(cell) == pytest.approx(wanted, rel=DIGITS, abs=DIGITS / 2), (cell, wanted)


def test_the_torque_of_a_condition_is_held_to_the_window_of_the_repaired_thread(study):
    other = tr.study(tr.read({**study.case.entered, "insert_friction": "0.12 to 0.18"}))
    before, after = other.preloads.original, other.preloads.repaired
    (settled,) = (x for x in conclusion._settled(other) if x.id.startswith("condition_torque"))
    assert settled.values["window"] == after.window != before.window
