"""The verification must see a fault: in a constant, in a formula, in a solver, in a certificate."""

import json
import math
import os
import shutil
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from itertools import islice
from pathlib import Path

import nbformat
import numpy as np
import pytest

from thread_repair import cli, tables
from thread_repair.errors import InputError
from thread_repair.facts import count
from thread_repair.report.blocks import layout
from thread_repair.report.blocks import verification as shown
from thread_repair.strength.collapse import certificate
from thread_repair.verification import checks, collapse, exact
from thread_repair.verification.checks import hold
from thread_repair.verification.record import Verification, data_digest, unconfirmed

ROOT = Path(__file__).parent.parent
Done = subprocess.CompletedProcess[str]


# ---- what holds


def test_the_chosen_rows_stand_for_all_conditions():
    cells, bosses = collapse.chosen("")
    kinds = {(each.state, each.position) for each in cells}
    assert len(kinds) == 4
    assert [(each.state, each.position) for each in bosses] == [("repaired", "base")]
    every = collapse.chosen("all")
    assert [len(some) for some in every] == [1004, 336]
    assert len(collapse.chosen("true")[1]) == 240


def test_a_row_solved_anew_has_the_digits_of_the_table():
    first = collapse.cells()[0]
    assert collapse.solved_ends(first) == (first.lower, first.upper)


def test_a_boss_is_named_by_its_support_once():
    first = collapse.bosses()[0]
    same = collapse.compared(first, (first.lower, first.upper))
    for name in (shown._which(first), same.name):
        assert name.startswith("boss ") and name.count(first.position) == 1, name


def test_recompute_is_one_of_three_words():
    with pytest.raises(InputError, match="recompute must be true, all or empty, got 'yes'"):
        Verification(recompute="yes")


def test_data_have_one_checksum():
    assert len(data_digest()) == 64


def test_open_values_are_named_by_document():
    found = unconfirmed()
    totals = [some.total() for some in found.values()]
    assert sum(totals) > 500 and totals == sorted(totals, reverse=True)
    assert "unified_series" in found["asme-b1-1"]
    assert not {"nasa-std-5020-overview", "tm-9-2815-247-34"} & {*found}  # all read


# ---- what must fail


def test_a_certificate_that_believes_everything_is_seen(monkeypatch):
    right = certificate.certify_lower

    def believes(mesh, values):
        try:
            return right(mesh, values)
        except certificate.NotCertifiedError:
            return right(mesh, exact.stress_field(mesh))

    monkeypatch.setattr(exact, "certify_lower", believes)
    failed = [each.name for each in exact.certificates() if not each.held]
    assert len(failed) == 2
    assert all("stress field" in name for name in failed)


def test_a_certificate_that_promises_too_much_is_seen(monkeypatch):
    right = certificate.certify_lower

    def more(mesh, values):
        found = right(mesh, values)
        return replace(found, load=1.01 * found.load)

    monkeypatch.setattr(exact, "certify_lower", more)
    assert not all(each.held for each in exact.exact_solutions())


def test_a_table_that_was_changed_is_seen():
    first = collapse.cells()[0]
    changed = replace(first, lower="0.9890")
    assert not collapse.compared(changed, collapse.solved_ends(changed)).held
    assert collapse.compared(first, (first.lower, first.upper)).held


def test_a_record_may_be_wider_by_a_little_and_never_narrower():
    first = replace(collapse.cells()[0], lower="0.9888", upper="1.0001")
    wider = collapse.compared(first, ("0.9920", "1.0001"))
    assert wider.held and "wider by 0.0032" in wider.reason
    assert not collapse.compared(first, ("0.9940", "1.0001")).held
    assert not collapse.compared(first, ("0.9886", "1.0001")).held
    assert not collapse.compared(first, ("0.9888", "1.0003")).held
    assert collapse.compared(first, ("0.9887", "1.0002")).reason == ""


def test_a_mesh_that_does_not_close_in_is_seen(monkeypatch):
    right = tables.rows
    changed = [dict(row) for row in right(collapse.MESHES)]
    changed[1]["lower_over_formula"] = "0.980000"
    monkeypatch.setattr(
        tables, "rows", lambda name, **x: changed if name == collapse.MESHES else right(name, **x)
    )
    assert [each.held for each in collapse.converging("")] == [False, True, True]


def test_a_mesh_that_cannot_be_solved_anew_is_not_held_and_stops_nothing(monkeypatch):
    def refuses(**_):
        raise InputError("no such mesh")

    monkeypatch.setattr(collapse, "cell_bounds", refuses)
    assert [each.reason for each in collapse.converging("")] == ["no such mesh"] * 3


def test_a_probability_that_is_off_is_seen(monkeypatch):
    monkeypatch.setattr(exact, "SCREW", 0.05)  # a joint with more scatter than its formula
    right = exact.lognormal_joint(0.01)
    monkeypatch.undo()
    monkeypatch.setattr(exact, "lognormal_joint", lambda target: right)
    assert sum(not each.held for each in exact.closed_forms()) >= 3


def test_what_is_not_computed_is_not_held():
    reference = next(exact.exact_solutions()).reference

    def refuses():
        raise InputError("no such thing")

    found = hold("exact", "a thing", reference, refuses)
    assert not found.held and found.reason == "no such thing"
    assert np.isnan(found.low)
    apart = hold("exact", "a thing", reference, lambda: (1.0, 2.0, 1.5, True))
    assert not apart.held and apart.reason == "not between the ends"
    assert not hold("exact", "a thing", reference, lambda: (1.0, 1.2, 1.5, False)).held


# ---- the command


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        (["reports/demo-rig-plate"], "takes no case"),
        (["--param", "recompute"], "NAME=VALUE"),
        (["--param", "speed=high"], "'speed' is not one of recompute, pull_tests"),
        (["--param", "pull_tests=/nowhere"], "no folder at /nowhere"),
    ],
)
def test_bad_input_is_one_sentence(arguments, text, capsys, tmp_path):
    command = ["report", *arguments, "--notebook", "verification", "--out", str(tmp_path / "out")]
    assert cli.main(command) == 2
    said = capsys.readouterr().err
    assert text in said and said.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_a_parameter_is_not_for_a_case(capsys):
    assert cli.main(["report", "--param", "seed=2"]) == 2
    assert "needs no case" in capsys.readouterr().err


def test_own_pull_tests_are_compared_by_method():
    found = Verification(pull_tests=str(ROOT / "reports" / "pull-tests-demo"))
    table = shown.own_tests_table(found)
    assert {row[3] for row in table.rows} >= {"reference method", "SAE 770420"}
    assert all(float(row[4]) > 0 and " to " in row[5] for row in table.rows)


def planted(folder: Path, faults: tuple[tuple[str, str, str], ...], *quantities: str) -> Done:
    """Build the report of some quantities with a copy of the program in which texts are others."""
    for part in ("thread_repair", "notebooks", "reports"):
        shutil.copytree(ROOT / part, folder / part)  # compiled as it is
    for file, old, new in faults:
        text = (folder / file).read_text("utf-8")
        assert text.count(old) >= 1, f"{old!r} is not in {file}"
        (folder / file).write_text(text.replace(old, new, 1), "utf-8")
    only(folder, *quantities)
    without_recorded_bounds(folder / "notebooks" / "verification.ipynb")
    command = [sys.executable, "-m", "thread_repair", "report", "--notebook", "verification",
               "--to", "html", "--out", str(folder / "out")]  # fmt: skip
    environment = {**os.environ, "PYTHONPATH": str(folder)}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True)


def only(folder: Path, *quantities: str) -> None:
    """Leave of the printed values those of some quantities."""
    for file in (folder / "thread_repair" / "data" / "printed").glob("*.csv"):
        head, *rows = file.read_text("utf-8").splitlines(keepends=True)
        kept = [row for row in rows if row.startswith(tuple(f"{each}," for each in quantities))]
        file.write_text("".join([head, *kept]), "utf-8")


def without_recorded_bounds(notebook: Path) -> None:
    """Leave out the pictures of recorded bounds, which show no fault of the program and take long."""
    book = nbformat.read(notebook, as_version=4)
    heads = [cell.source.partition("\n")[0] for cell in book.cells]
    first = heads.index("## Certified bounds of the area formula")
    del book.cells[first : heads.index("### Loads that are known exactly")]
    nbformat.write(book, notebook)


WRONG_VALUE = ("thread_repair/data/screw_values.csv", "tensile_min,800", "tensile_min,801")
WRONG_FORMULA = ("thread_repair/strength/areas.py", "P / 2 + rise", "P / 2.1 + rise")
BELIEVED = (
    "thread_repair/strength/collapse/certificate.py",
    "raise NotCertifiedError.of(",
    "return NotCertifiedError.of(",
)
#: What shows none of these faults and takes longer than all the rest: bounds solved anew, other
#: statements than the certificates, the methods over many joints.
LITTLE = (
    *(
        ("thread_repair/verification/record.py", f"tuple({slow})", "tuple(exact.certificates())")
        for slow in (
            "exact.exact_solutions()",
            "collapse.converging(self.recompute)",
            "exact.closed_forms()",
        )
    ),
    (
        "thread_repair/verification/collapse.py",
        "return cells()[::115], tuple(e for e in bosses()",
        "return cells()[:1], tuple(e for e in ()",
    ),
    (
        "thread_repair/verification/methods.py",
        "def ranges(parents: tuple[str, ...] = PARENTS)",
        "def ranges(parents: tuple[str, ...] = PARENTS[:1])",
    ),
)


@pytest.mark.slow
def test_faults_planted_in_the_program_end_with_exit_code_1(tmp_path):
    """A wrong value, a wrong formula and a certificate that believes, each with its own rows."""
    done = planted(
        tmp_path, (WRONG_VALUE, WRONG_FORMULA, BELIEVED, *LITTLE), "strip_area", "screw_strength"
    )
    assert done.returncode == 1, done.stderr
    assert "FAILED" in done.stdout
    found = json.loads((tmp_path / "out" / "results.json").read_text("utf-8"))
    assert not found["passed"]
    assert found["counts"]["certificate"]["failed"] > 0
    failed = [each for each in found["printed_values"] if each["outcome"] == "failed"]
    assert any(each["computed"] == 801 for each in failed)  # the value
    assert len(failed) > 30  # the formula
    page = (tmp_path / "out" / "verification.html").read_text("utf-8")
    assert "FAILED:" in page.split("Contents")[0]


@pytest.mark.slow
def test_the_report_as_it_stands(tmp_path):
    command = ["report", "--notebook", "verification", "--to", "html"]
    assert cli.main([*command, "--out", str(tmp_path / "out")]) == 0
    found = json.loads((tmp_path / "out" / "results.json").read_text("utf-8"))
    assert found["format"] == "thread-repair-verification/1"
    statements = found["statements"]
    assert not [(each["name"], each["reason"]) for each in statements if not each["held"]]
    topics = Counter(each["topic"] for each in statements)
    assert topics == {"exact": 5, "certificate": 5, "solved_anew": 10, "capped": 2,
                      "convergence": 3, "chance": 10}  # fmt: skip
    assert found["passed"] and len(found["printed_values"]) > 2000
    assert sum(each["values"] for each in found["documents"]) == len(found["printed_values"])
    by_outcome = Counter(each["outcome"] for each in found["printed_values"])
    for name, outcome in (("passed", "passed"), ("known", "known difference")):
        assert sum(each[name] for each in found["documents"]) == by_outcome[outcome] > 0
    assert found["data_sha256"][:12] in (tmp_path / "out" / "verification.html").read_text("utf-8")


def test_the_first_page_claims_nothing_that_failed():
    found = Verification()
    topics = ("certificate", "solved_anew", "capped", "convergence", "chance")
    exact_one = (next(exact.exact_solutions()),)
    vars(found)["statements"] = {"exact": exact_one, **dict.fromkeys(topics, exact_one)}
    vars(found)["checks"] = checks.checks(islice(checks.printed_values(), 20))
    claims = "The checks show"
    assert claims in shown.result(found).data
    known = sum(each.outcome == "known difference" for each in found.checks)
    assert found.statement.values == {"total": count(20 + 6), "known": count(known)}
    held = found.statements["exact"][0]
    found.statements["exact"] = (replace(held, held=False, reason="planted"),)
    del found.__dict__["counts"]
    assert (found.failed, found.statement.level) == (1, "limit")
    assert "**FAILED" in shown.result(found).data
    assert claims not in shown.result(found).data
    assert "planted" in shown.failures(found).data
    assert "FAILED: planted" in str(shown.statements_table(found, "exact").rows)


def test_a_bound_has_four_decimals_near_one_and_none_where_there_is_none():
    column = layout.Column.of("Lower | bound | low")
    texts = [column.text(each, "SI") for each in (0.98766, 12.34567, -math.inf, math.nan)]
    assert texts == ["0.9877", "12.346", "–", "–"] and column.side == "right"
