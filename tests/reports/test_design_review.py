"""The design review is built from its notebook and says what it must."""

import json
from pathlib import Path

import nbformat
import pytest
from calls import shown, words

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import cli
from thread_repair.words import sentence

NOTEBOOK = Path(__file__).parents[2] / "notebooks" / "design_review.ipynb"
SECTIONS = (
    "Summary for the board", "Criteria and conditions", "Section through both holes",
    "Failure modes", "Contributions to the strength ratio", "Published methods, side by side",
    "Load sharing along the thread", "Load against travel of the screw",
    "Stripping load against engaged length", "Options",
    "Cautions", "Appendix: inputs", "Appendix: equations",
    "Appendix: all margins of safety", "Appendix: points on which sources differ",
    "Appendix: sources", "Appendix: all parents",
)  # fmt: skip


ENTERED = {
    "title": "Invented case", "document": "TEST-1", "screw": "8.8", "engagement": "1.5 D",
    "insert_length": "1.5 D", "damaged_fraction": "0.4",
}  # fmt: skip
OPTIONS = ("Wire thread insert", "Solid threaded insert, heavy-duty", "Reject the part")


def test_the_calls_of_a_large_thread_in_cast_iron_show_something():
    changes = {"thread": "M24", "parent": "EN-GJL-250", "insert_length": "1 D"}
    study = tr.study(cases.read({**ENTERED, **changes}))
    # how sure the joint is does not depend on what an option is called; it takes the longest
    found = shown("design_review", study, without="chance.")
    said = " ".join(text for _, output in found for text in words(output))
    for each in OPTIONS:
        assert each in said


@pytest.mark.slow
def test_the_design_review_builds(shipped_report):
    html = (shipped_report("design_review") / "design_review.html").read_text("utf-8")
    for each in (*SECTIONS, *OPTIONS):
        assert each in html


@pytest.mark.slow
@pytest.mark.usefixtures("without_chances", "at_once")
def test_what_a_case_leaves_out_is_not_the_demonstrations(tmp_path):
    node = nbformat.read(NOTEBOOK, as_version=4)
    node.cells[3:] = [each for each in node.cells if each.source == "inputs.inputs_table(study)"]
    assert len(node.cells) == 4
    own = tmp_path / "own.ipynb"
    nbformat.write(node, own)
    changes = {
        "thread": "1/4-20 UNC", "screw": "J429-8", "parent": "AZ91D", "report_units": "inch",
        "samples": "1024",
    }  # fmt: skip
    entries = {**ENTERED, **changes}
    file = tmp_path / "invented" / "case.yaml"
    file.parent.mkdir()
    file.write_text("\n".join(f'{key}: "{value}"' for key, value in entries.items()) + "\n")
    out = tmp_path / "out"
    code = cli.main(
        ["report", str(file), "--notebook", str(own), "--to", "html", "--out", str(out)]
    )
    assert code == 0
    html = (out / "invented" / "own.html").read_text("utf-8")
    assert "Damaged" in html and "Boss diameter" not in html
    document = json.loads((out / "invented" / "results.json").read_text("utf-8"))
    assert {"sharing", "alternatives", "required_insert"} <= set(document)


def test_the_board_reads_on_its_page_what_the_justification_says_on_its_first():
    """What a thin boss takes, 57 and 65 %, stood on page 13 of the design review alone."""
    thin = {"parent": "EN-AC-46000", "boss_diameter": "11 mm", "design_load": "2 kN"}
    study = tr.study(cases.read({**ENTERED, **thin, "thread": "M6"}))
    first = {}
    for notebook, last in (
        ("design_review", "conclusion.basis(study)"),
        ("repair_justification", "conclusion.conditions(study)"),
    ):
        calls = dict(shown(notebook, study, without="chance."))
        before = list(calls)[: list(calls).index(last)]
        first[notebook] = " ".join(text for call in before for text in words(calls[call]))
    limits = [each for each in study.limitations if each.level == "limit"]
    assert len(limits) > 1
    for each in limits:
        said = sentence(each)
        assert all(said in text for text in first.values()), said
