"""Every path that a data file names into a record leads somewhere, in one case or another.

A wrong attribute stops a report, but a wrong key of a mapping prints a dash and nobody is told.
"""

from itertools import islice
from pathlib import Path

import pytest
from calls import demo, shown

import thread_repair as tr
from thread_repair import files
from thread_repair.case import part_file
from thread_repair.report import paths
from thread_repair.report.blocks import layout, part
from thread_repair.report.part_results import part_results
from thread_repair.report.results import results, verified
from thread_repair.verification import checks, exact
from thread_repair.verification.record import Verification

PART = Path(__file__).parents[2] / "reports" / "demo-part" / "submission.yaml"
#: Tables that are not of a case, or that take long; their rows are records, which know their names.
OTHERS = {"statements", "credibility", "required-chance"}
#: No option of these joints has one.
WITHOUT = {"option.drill"}


def leaves(spec):
    if isinstance(spec, str):
        return {spec.rpartition(": ")[2]}
    inner = spec.values() if isinstance(spec, dict) else spec
    return {path for each in inner for path in leaves(each)}


def in_columns():
    tables = files.data("words/layouts.toml")["tables"]
    for name in tables.keys() - OTHERS:
        for column in tables[name]["columns"]:
            *_, where = (each.strip() for each in column.split("|"))
            if column.count("|") == 2 and where:
                yield where


@pytest.fixture(scope="module")
def led():
    """Paths at the end of which something stood."""
    found, walk = set(), paths.walk

    def spied(record, path):
        value = walk(record, path)
        if value is not None:
            found.add(path)
        return value

    warm = tr.study(demo(temperature="60 degC", temperature_min="-30 degC"))
    pulled = tr.study(demo("pull-tests-demo"))
    # typed by the name of another document, with a hardness; the hole has a size
    damage = {"hole_condition": "oversize", "damaged_diameter": "8.6 mm"}
    typed = demo(parent="A380", parent_hardness="HB 75", **damage)
    given = part_file.load(PART)
    submitted = tr.submission(given.shared, given.holes)
    with pytest.MonkeyPatch.context() as patch:
        for module in (paths, layout):
            patch.setattr(module, "walk", spied)
        results(typed, with_chances=False)
        results(warm)
        results(pulled)
        for notebook in ("design_review", "repair_justification", "hole_preparation"):
            list(shown(notebook, warm, without="chance."))
        list(shown("concession_sheet", tr.study(demo())))
        list(shown("pull_test_evidence", pulled, without="chance."))
        part_results(submitted)
        part.holes_table(submitted)
        part.numbers_table(warm)
        for each in (part.modes_table, part.holes_table, part.spoiled_table, part.inputs_table):
            each(submitted)
        program = Verification(pull_tests=str(PART.parents[1] / "pull-tests-demo"))
        vars(program)["checks"] = checks.checks(islice(checks.printed_values(), 20))
        vars(program)["statements"] = {"exact": (next(exact.exact_solutions()),)}
        verified(program)
    return found


def test_every_path_of_the_results_leads_somewhere(led):
    assert leaves(files.data("results.toml")) - led == set()


def test_every_path_of_a_column_leads_somewhere(led):
    assert set(in_columns()) - led == WITHOUT
