"""Where a report prints a permissible torque it prints that the drawing governs."""

import json
from pathlib import Path

import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import words
from thread_repair.report import escape
from thread_repair.report.blocks import conclusion, tightening
from thread_repair.tightening import CAUTION

ROOT = Path(__file__).parents[2]
#: Blocks that print the permissible torque, and those that print the caution.
PRINT = (
    "conclusion.conditions(",
    "tightening.line(",
    "tightening.table(",
    "workshop.record_table(",
)
WARN = ("tightening.caution(", "tightening.line(")
NOTEBOOKS = (
    "repair_justification", "design_review", "concession_sheet", "hole_preparation",
    "pull_test_evidence",
)  # fmt: skip


@pytest.mark.parametrize("notebook", NOTEBOOKS)
def test_a_permissible_torque_never_stands_without_its_caution(notebook):
    cells = json.loads((ROOT / "notebooks" / f"{notebook}.ipynb").read_text("utf-8"))["cells"]
    code = "".join("".join(c["source"]) for c in cells if c["cell_type"] == "code")
    assert any(each in code for each in PRINT)
    assert any(each in code for each in WARN)


def test_the_blocks_print_what_the_lists_say():
    study = tr.study(cases.load(ROOT / "reports" / "demo-rig-plate"))
    assert "permissible" in conclusion.conditions(study).data
    caution = escape.markdown(words.sentence(CAUTION))
    assert caution in tightening.caution(study, mark="-").data
    assert caution in tightening.line(study).data
