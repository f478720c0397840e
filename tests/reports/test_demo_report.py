"""The demonstration report: built, opened and read back, compared with its results."""

import json
import re
from html import unescape
from pathlib import Path

import pytest

import thread_repair as tr
from thread_repair import program, words
from thread_repair.cli import main
from thread_repair.units import number

from .conftest import in_this_process

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "reports" / "demo-rig-plate" / "case.yaml"

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def report(shipped_report):
    return shipped_report("repair_justification")


@pytest.fixture(scope="module")
def results(report):
    return json.loads((report / "results.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def texts(report, shipped_pages):
    import docx

    document = docx.Document(report / "repair_justification.docx")
    cells = (c.text for t in document.tables for row in t.rows for c in row.cells)
    page = (report / "repair_justification.html").read_text("utf-8")
    html = unescape(re.sub(r"<[^>]+>", " ", page))
    return {
        "pdf": "\n".join(shipped_pages("repair_justification")),
        "html": html,
        "docx": "\n".join([*(p.text for p in document.paragraphs), *cells]),
    }


def flat(text):
    return re.sub(r"\s+", " ", text.replace("’", "'").replace("\u2008", "").replace("\u2007", ""))


@pytest.mark.parametrize("kind", ["pdf", "html", "docx"])
def test_says_what_the_results_say(texts, results, kind):
    text = flat(texts[kind])
    for each in tr.study(tr.load(DEMO)).statements:
        assert flat(words.sentence(each, system="both")) in text
    for state in results["states"].values():
        assert number(state["pull_out_N"] / 1000) in text
        assert number(state["strength_N"] / 1000) in text
    for margin in results["margins"]:
        assert f"{margin['margin']:+.2f}" in text


@pytest.mark.parametrize("kind", ["pdf", "html", "docx"])
def test_says_which_program_made_it(texts, results, kind):
    assert flat(program.sentence()) in flat(texts[kind])
    assert results["version"] == program.version()
    assert results["made_with"] == program.packages()


@pytest.mark.parametrize("kind", ["pdf", "html", "docx"])
def test_has_what_a_reviewer_looks_for(texts, kind):
    text = flat(texts[kind])
    for phrase in (
        "DEMO-001",
        "invented",
        "competent person",
        "Documents used",
        "Stated inputs",
        "Assumed inputs",
        "Signature",
        "Engagement budget",
        "not verified",
    ):
        assert phrase in text, phrase


def test_every_source_of_what_the_conclusion_weighs_is_printed(texts, results):
    """results.json also holds what other reports show, with more sources."""
    from thread_repair.tables import source

    text = flat(texts["html"])
    listed = {(each["id"], each["clause"]) for each in results["sources"]}
    used = tr.study(tr.load(DEMO)).references
    for reference in used:
        assert flat(source(reference.source).title) in text
        assert (reference.source, reference.clause) in listed
    # the lowest of the rival methods, the length table of a criterion, the torque, the evaluation
    assert {"nasa-rp-1228", "asme-b18-29-2m", "vdi-2230-1", "mil-hdbk-5j"} <= {
        r.source for r in used
    }
    assert {
        "insert length by parent shear and screw class", "basic sizes of the insert hole",
        "outside of the fitted insert, assumption", "boss wall factor",
    } <= {r.what for r in used}  # fmt: skip


def test_pages_are_numbered_tagged_and_marked(report, shipped_pages):
    import pypdf

    pdf = pypdf.PdfReader(report / "repair_justification.pdf")
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in pdf.trailer["/Root"]
    for at, text in enumerate(shipped_pages("repair_justification"), start=1):
        assert program.name() in text and f"page {at} of {len(pdf.pages)}" in text
        assert f"inputs {tr.load(DEMO).inputs_sha256[:12]}" in text
        assert "DRAFT" in text


def test_the_page_needs_no_network(report):
    html = (report / "repair_justification.html").read_text("utf-8")
    assert "<script" not in html
    assert not re.findall(r"""(?:src|href)=["']?https?://""", html)
    assert "<math" in html


@pytest.mark.usefixtures("without_chances")
def test_out_names_the_folder_after_the_case_and_makes_the_same_page(shipped_report, tmp_path):
    report = shipped_report("concession_sheet")
    arguments = ["--out", str(tmp_path), "--to", "html", "--notebook", "concession_sheet"]
    with in_this_process():
        assert main(["report", str(DEMO), *arguments]) == 0
    built = {file.name for file in (tmp_path / "demo-rig-plate").iterdir()}
    assert built == {
        "concession_sheet.html",
        "concession_sheet.ipynb",
        "results.json",
        ".thread-repair.json",
    }
    page = (tmp_path / "demo-rig-plate" / "concession_sheet.html").read_bytes()
    assert page == (report / "concession_sheet.html").read_bytes()
    assert DEMO.read_bytes() == (report / "case.yaml").read_bytes()
