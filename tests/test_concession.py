"""The concession sheet and the change record: what is known is filled in, what decides is blank."""

from pathlib import Path

import pypdf
import pytest

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import words as printer
from thread_repair.errors import InputError
from thread_repair.report.blocks import comparison, inputs

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "reports" / "demo-rig-plate"


def demo(**changes):
    return cases.read({**cases.load_text(DEMO), **changes})


def rows(table):
    return {str(row[0]): [str(cell) for cell in row[1:]] for row in table.rows}


def test_the_request_holds_what_the_case_says_and_leaves_the_rest_to_be_written():
    table = rows(inputs.request_table(tr.study(demo())))
    assert table["Contract or order"] == ["order 1001 (invented)"]
    assert table["Classification"] == [""]
    assert rows(inputs.request_table(tr.study(demo(classification="major"))))["Classification"] == [
        "major"
    ]
    with pytest.raises(InputError, match="classification: 'huge' is not one of"):
        demo(classification="huge")


def test_the_strengths_are_those_of_the_evaluation():
    case = demo(report_units="SI")
    study = tr.study(case)
    evaluation = study.evaluation
    table = rows(comparison.strength_table(study))
    assert table["repaired thread"][1] == f"{evaluation.repaired.pull_out / 1000:.3g}"
    assert table["original thread"][4].startswith("+")
    without = demo(design_load="", torque="", report_units="SI")
    assert rows(comparison.strength_table(tr.study(without)))["original thread"][4] == ("–")


def test_the_scope_lists_what_is_stated_and_a_form_also_what_is_not():
    study = tr.study(demo(serials="", damage=""))
    assert list(rows(inputs.scope(study))) == ["Item", "Scope"]
    assert rows(inputs.request_table(study))["Serial numbers"] == [""]
    nothing = tr.study(demo(item="", serials="", scope="", damage=""))
    assert "not stated" in inputs.scope(nothing).data


def test_nobody_decides_by_default():
    filled = inputs.decision().rows
    assert all(row[2:] == ("", "", "") for row in filled)


def test_the_change_record():
    case = demo(changes="A | 2026-11-25 | first issue\n\nB | 2026-12-01 | torque | of H3")
    table = inputs.change_record(tr.study(case))
    assert table.rows == (
        ("A", "2026-11-25", "first issue"),
        ("B", "2026-12-01", "torque | of H3"),
    )
    assert "No change record" in inputs.change_record(tr.study(demo(changes=""))).data
    with pytest.raises(InputError) as error:
        demo(changes="B, torque corrected\nC | yesterday | x\nD | 2026-12-01 |")
    assert [line.split(":")[1].strip() for line in str(error.value).splitlines()] == [
        "line 1", "line 2", "line 3",
    ]  # fmt: skip
    with pytest.raises(InputError, match=r"line 1: .* holds another change"):
        demo(changes="A | 2026-11-25 | first issue; B | 2026-12-01 | torque")


@pytest.mark.slow
def test_the_sheet_fits_two_pages(shipped_report):
    report = shipped_report("concession_sheet")
    pages = pypdf.PdfReader(report / "concession_sheet.pdf").pages
    assert len(pages) <= 2
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for words in ("Affected requirement", "Corrective action", "Signature", "Customer",
                  "first issue", "competent person"):  # fmt: skip
        assert words in text
    # The permissible torque is that of the study, in the units of the sheet, the longest to print.
    case = cases.load(report)
    assert case.report_units == "both"
    assert printer.limits(tr.study(case).preloads.repaired.window, system="both") in text


@pytest.mark.slow
def test_no_column_of_the_sheet_stands_in_the_margin(shipped_report):
    """The columns to be filled in once took the width of the page, and those behind lay outside."""
    page = pypdf.PdfReader(shipped_report("concession_sheet") / "concession_sheet.pdf").pages[1]
    begins = {}

    def seen(text, matrix, of_text, *_):
        begins[text.strip()] = matrix[4] + of_text[4]

    page.extract_text(visitor_text=seen)
    assert begins["Name"] + 30 < begins["Date"] < begins["Signature"] - 30
    assert begins["As follows"] < float(page.mediabox.width) / 2


@pytest.mark.parametrize("state", ["original", "repaired"])
def test_the_minimum_margin_is_that_of_the_first_page_not_of_the_certified_bound(state):
    """In a boss of 14 mm the certified bound's margin is +0.07, the criteria's minimum +0.10."""
    study = tr.study(cases.read({
        "thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "8 mm",
        "insert_length": "1 D", "boss_diameter": "14 mm", "design_load": "9 kN",
        "load_factor": "1.5", "yield_factor": "1.2", "load_factor_source": "drawing 1",
    }))  # fmt: skip
    stated = [c for c in study.criteria if c.id.startswith("margin_")]
    smallest = min(getattr(each, state).value for each in stated if getattr(each, state))
    assert comparison.least_margin(study, state)["margin"] == smallest
    assert min(m.margin for m in study.margins if m.state == state) < smallest
