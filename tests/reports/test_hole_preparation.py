"""The hole preparation sheet, built and read back: three pages, everything on it, no contents."""

import re
from itertools import pairwise
from pathlib import Path

import nbformat
import pytest
from pdf_text import pages_of
from pypdf import PdfReader

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import words
from thread_repair.facts import Term
from thread_repair.report import jobs
from thread_repair.report.blocks import workshop

from .conftest import in_this_process
from .five_cases import FIVE, FREE, metric

DEMO = Path(__file__).parents[2] / "reports" / "demo-rig-plate" / "case.yaml"
NOTEBOOK = Path(__file__).parents[2] / "notebooks" / "hole_preparation.ipynb"
pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("without_chances")]

#: The longest sheets: most cautions, most steps, an insert to take out, inch limits, the lock's
#: torque.
CASES = {
    "demo": {},
    "hardest": {
        "parent": "AZ91D", "insert_kind": "locking", "critical": "yes", "regime": "aircraft",
        "hazards": "thorium, beryllium", "environment": "salt water", "insert_wire": "S31600",
        "insert_wire_strength": "1000 MPa", "insert_wire_source": "certificate 7 (invented)",
        "insert_finish": "cadmium", "tap": "bottoming", "hole_depth": "18 mm",
        "screw_reach": "14 mm", "edge_distance": "13 mm", "tool_set_down": "2.6 mm",
        "shim_sizes": "0.5 mm, 0.25 mm", "fitting_tool": "powered",
        "quantity": "50", "casting_factor": "0.8",
        "torque": "15.5 N·m", "old_insert": "yes",
    },
    "inch": {**FIVE["inch thread, locking insert, no boss"], **FREE},
}  # fmt: skip


def built(tmp_path, changes):
    entered = {**cases.load_text(DEMO), **changes}
    folder = tmp_path / "case"
    folder.mkdir()
    file = folder / "case.yaml"
    file.write_text("".join(f"{key}: {value!r}\n" for key, value in entered.items()), "utf-8")
    job = jobs.Job(case=file, name="sheet", notebook=NOTEBOOK, out=folder, formats=("pdf",))
    with in_this_process(pictures=False):
        outcome = jobs.build(job)
    assert not outcome.faults, outcome.faults
    return folder, tr.study(cases.read(entered))


def flat(text):
    return re.sub(r"\s+", " ", text)


@pytest.fixture(scope="module")
def demonstration(shipped_report):
    return shipped_report("hole_preparation"), tr.study(cases.load(DEMO))


@pytest.mark.parametrize("changes", CASES.values(), ids=CASES)
def test_the_sheet_fits_three_pages_and_holds_every_limit(tmp_path, demonstration, changes):
    folder, study = built(tmp_path, changes) if changes else demonstration
    made = study.sheet
    system = words.sizes_in(study.case.report_units, made.thread.system)
    pages = PdfReader(folder / "hole_preparation.pdf").pages
    assert 2 <= len(pages) <= 3
    width, height = (float(each) / 72 * 25.4 for each in pages[0].mediabox[2:])
    assert (round(width), round(height)) == (210, 297)
    texts = pages_of(folder / "hole_preparation.pdf")
    text = flat(" ".join(texts))
    assert "Contents" not in text
    first = flat(texts[0])
    for each in made.cautions:
        assert flat(each["text"]) in first, each["id"]
    for step in made.steps:
        for limit in step.limits:
            printed = words.limits(limit, system=system)
            assert printed in text, (step.id, printed)
    assert text.count("☐") == len(made.steps)
    for line in made.record:
        kind = "limit" if "limit" in line.values else "record"
        assert words.term(Term(kind, line.id))[1:] in text
    for printed in (
        "Signature",
        "Hole 1" if changes.get("quantity") != "1" else "Reading",
        "The torque on the drawing or in the maintenance manual governs",
    ):
        assert printed in text  # fmt: skip
    if study.case.report_units == "inch":
        assert not metric(text)


@pytest.mark.parametrize("changes", [{"quantity": "14"}, CASES["hardest"]], ids=["14", "hardest"])
def test_the_page_to_be_copied_is_that_of_the_record(tmp_path, changes):
    folder, _ = built(tmp_path, changes)
    (page,) = (each for each in map(flat, pages_of(folder / "hole_preparation.pdf"))
               if "Copy this record" in each)  # fmt: skip
    assert "Inspection record" in page and "Gauge, valid until" in page


def test_a_field_of_the_record_takes_a_size_written_by_hand(tmp_path, demonstration):
    """A centimetre at least, and no head runs into the next: four holes in both systems, one hole
    beside a tool of many words."""
    tool = {"quantity": "1", "torque": "", "preload": "10 kN", "tightening_tool": "elongation"}
    for folder, names in (
        (demonstration[0], ["Hole"] * 4),
        (built(tmp_path, tool)[0], ["Reading"]),
    ):
        heads = []

        def seen(text, matrix, of_text, *_, names=names, heads=heads):
            across = matrix[4] + of_text[4]
            # the specification has holes too, at the left
            if text.split()[:1] in (names[:1], ["Gauge,"]) and across > 200:
                heads.append(across)

        for page in PdfReader(folder / "hole_preparation.pdf").pages:
            page.extract_text(visitor_text=seen)
        assert len(heads) == len(names) + 1
        assert min(after - before for before, after in pairwise(heads)) > 10 / 25.4 * 72


def test_html_and_docx_hold_the_record_too(demonstration):
    from docx import Document

    folder, study = demonstration
    page = (folder / "hole_preparation.html").read_text("utf-8")
    assert "fill-in" in page and 'class="contents"' not in page
    tables = Document(folder / "hole_preparation.docx").tables
    texts = [{cell.text for row in each.rows for cell in row.cells} for each in tables]
    record = {row[0] for row in workshop.record_table(study).rows}
    (filled,) = (each for each, cells in zip(tables, texts, strict=True) if record <= cells)
    assert "w:insideV" in filled.style.element.xml, "no line between the holes to write into"


def test_a_notebook_that_asks_for_no_layout_keeps_its_contents():
    asked = nbformat.read(NOTEBOOK, as_version=4).metadata["thread_repair"]["layout"]
    other = nbformat.read(NOTEBOOK.parent / "repair_justification.ipynb", as_version=4)
    assert asked == "sheet" and "thread_repair" not in other.metadata
