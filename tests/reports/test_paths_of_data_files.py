"""Every path that a data file names into a record leads somewhere, in one case or another.

A wrong attribute stops a report, but a wrong key of a mapping prints a dash and nobody is told.
"""

from dataclasses import replace
from functools import cache
from itertools import islice
from pathlib import Path
from types import SimpleNamespace

import pytest
from calls import demo, shown

import thread_repair as tr
from thread_repair import files, words
from thread_repair.case import part_file
from thread_repair.report import consistency, paths
from thread_repair.report.blocks import layout, part
from thread_repair.report.results import part_results, results, verified
from thread_repair.verification import checks, exact, methods
from thread_repair.verification.record import Verification

PART = Path(__file__).parents[2] / "reports" / "demo-part" / "submission.yaml"
#: Tables that are not of a case, or that take long; their rows are records, which know their names.
OTHERS = {"statements", "solved-anew", "credibility", "required-chance"}
#: No option of these joints has one.
WITHOUT = {"alternatives = option.drill"}


class Placed(str):
    """A path that knows where its file has it: another place may have the same text."""

    def __new__(cls, text, place):
        path = super().__new__(cls, text)
        path.place = f"{place} = {text}"
        return path


def placed(spec, place):
    if isinstance(spec, str):
        return Placed(spec, place)
    if isinstance(spec, list):
        return [placed(each, place) for each in spec]
    return {key: placed(each, f"{place}.{key}") for key, each in spec.items()}


def leaves(spec):
    if isinstance(spec, str):
        return {spec.place}
    inner = spec.values() if isinstance(spec, dict) else spec
    return {path for each in inner for path in leaves(each)}


#: Paths at which one thing stands twice are of what is written: they have a test of their own.
RESULTS = {
    name: placed(each, f".{name}")
    for name, each in files.data("results.toml").items()
    if name != "same"
}


@cache
def columns(name):
    found = layout.Column.of, words.catalogue()["tables"][name]["columns"]
    return tuple(replace(each, where=Placed(each.where, name)) for each in map(*found))


def in_columns():
    for name in words.catalogue()["tables"].keys() - OTHERS:
        yield from (each.where.place for each in columns(name) if each.where)


@pytest.fixture(scope="module")
def led():
    """Places of paths at the end of which something stood."""
    found, walk, pick = set(), paths.walk, paths.pick

    def look(record, path):
        if isinstance(path, Placed) and walk(record, path.rpartition(": ")[2]) is not None:
            found.add(path.place)

    def walked(record, path):
        look(record, path)
        return walk(record, path)

    def picked(spec, record):
        look(record, spec)
        return pick(spec, record)

    warm = tr.study(demo(temperature="60 degC", temperature_min="-30 degC"))
    pulled = tr.study(demo("pull-tests-demo"))
    # typed by the name of another document, with a hardness; the hole has a size
    damage = {"hole_condition": "oversize", "damaged_diameter": "8.6 mm"}
    typed = demo(parent="A380", parent_hardness="HB 75", **damage)
    given = part_file.load(PART)
    one, *others = given.holes  # that one hole has a scope of its own
    submitted = tr.submission(given.shared, [{**one, "scope": "this hole"}, *others])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(paths, "files", SimpleNamespace(data=lambda name: RESULTS))
        patch.setattr(layout, "_columns", columns)
        patch.setattr(paths, "pick", picked)
        for module in (paths, layout):
            patch.setattr(module, "walk", walked)
        results(typed, with_chances=False)
        results(warm, with_chances=False)
        results(pulled)
        for notebook in ("design_review", "repair_justification", "hole_preparation"):
            list(shown(notebook, warm, without="chance."))
        list(shown("concession_sheet", tr.study(demo())))
        list(shown("pull_test_evidence", pulled, without="chance."))
        part_results(submitted)
        part.holes_table(submitted)
        part.preload_table(warm)
        for each in (part.modes_table, part.holes_table, part.spoiled_table, part.inputs_table):
            each(submitted)
        program = Verification(pull_tests=str(PART.parents[1] / "pull-tests-demo"))
        vars(program)["checks"] = checks.checks(islice(checks.printed_values(), 20))
        vars(program)["statements"] = {"exact": (next(exact.exact_solutions()),)}
        vars(program)["methods"] = methods.ranges(("6061-T6",))
        verified(program)
    return found


def test_every_path_of_the_results_leads_somewhere(led):
    assert leaves(RESULTS) - led == set()


def test_every_path_of_a_column_leads_somewhere(led):
    assert set(in_columns()) - led == WITHOUT


def test_every_two_paths_of_one_thing_lead_somewhere():
    joint = demo(torque="10 N*m", design_load="3 kN", temperature="60 degC")
    numbers = paths.finite(results(tr.study(joint), with_chances=False))
    named = {**numbers, "criteria": {each["id"]: each for each in numbers["criteria"]}}
    pairs = list(consistency._copies(named))
    same = files.data("results.toml")["same"]
    assert len(pairs) == sum(map(len, same.values())) - len(same["positions"]) + len(
        same["of_state"]
    )
    for pair in pairs:
        for each in pair:
            assert paths.walk(named, each) is not None, each
