"""Every numbered table and figure of every notebook is referred to in its text."""

import re
from itertools import islice
from types import SimpleNamespace

import matplotlib.pyplot as plt
import nbformat
import pytest
from calls import ROOT, demo, shown

import thread_repair as tr
from thread_repair.case import part_file
from thread_repair.report.blocks import part
from thread_repair.verification import checks, exact
from thread_repair.verification.record import Verification

pytestmark = pytest.mark.slow

#: Those of a case, and their cases; what is heated has no strength in some parents.
OF_A_CASE = (
    "concession_sheet", "design_review", "hole_preparation", "letter", "repair_justification",
    "why_inserts",
)  # fmt: skip
CASES = {
    "demonstration": {},
    "without tightening, hot": {"torque": "", "friction": "", "temperature": "120 degC"},
}
#: What a cell displays besides its last line.
displayed = []
_LABEL = re.compile(r"\{#((?:tbl|fig):[\w-]+)")
_REFERENCE = re.compile(r"(?<![\w-])@((?:tbl|fig):[\w-]*\w)")


def markdown(output):
    """What a document is written from, of one output."""
    if hasattr(output, "figure"):
        plt.close(output.figure)
        return f"{output.lead}\n{output.caption} {{#fig:{output.label}}}"
    return output.markdown() if hasattr(output, "markdown") else getattr(output, "data", "")


def faults(notebook, study, **names):
    """Return captions that nothing refers to, and references to nothing."""
    cells = nbformat.read(ROOT / "notebooks" / f"{notebook}.ipynb", as_version=4).cells
    texts = [cell.source for cell in cells if cell.cell_type == "markdown"]
    texts += [markdown(output) for _, output in shown(notebook, study, **names)]
    said = "\n".join([*texts, *map(markdown, displayed)])
    displayed.clear()
    return sorted({*_LABEL.findall(said)} ^ {*_REFERENCE.findall(said)})


def verification():
    """A verification with few of its checks: the captions are the same."""
    program, held = Verification(), (next(exact.exact_solutions()),)
    topics = ("exact", "certificate", "solved_anew", "capped", "convergence", "chance")
    vars(program)["checks"] = checks.checks(islice(checks.printed_values(), 20))
    vars(program)["statements"] = dict.fromkeys(topics, held)
    vars(program)["methods"] = ()
    return program


def subjects():
    sampled = {}  # takes long, and is captioned alike for all
    for changes in CASES.values():
        study = tr.study(demo(**changes))
        vars(study)["shown"] = dict(sampled)
        told = OF_A_CASE[:-1] if changes else OF_A_CASE  # the live pictures show no heat
        yield from ((notebook, study, study.case.entered) for notebook in told)
        sampled = {each: of for each, of in vars(study)["shown"].items() if "chance." in each}
    pulled = tr.study(demo("pull-tests-demo"))
    vars(pulled)["shown"] = sampled
    yield "pull_test_evidence", pulled, {}
    given = part_file.load(ROOT / "reports" / "demo-part" / "submission.yaml")
    yield "verification", verification(), {}
    yield "submission", SimpleNamespace(), {"shared": given.shared, "holes": given.holes}


def test_every_caption_has_a_reference_and_every_reference_a_caption(monkeypatch):
    monkeypatch.setattr(part, "display", lambda *shown: displayed.extend(shown))
    found = {}
    for notebook, study, names in subjects():
        found.setdefault(notebook, []).extend(faults(notebook, study, **names))
    assert {notebook: each for notebook, each in found.items() if each} == {}
    known = {path.stem for path in (ROOT / "notebooks").glob("*.ipynb")}
    assert known - found.keys() == {"class_exercises", "repair_workbook"}
