"""The first page of every report: one page, whatever stands on it, with the conclusion on it."""

import re
from pathlib import Path

import nbformat
import pytest
from pdf_text import pages_of

import thread_repair as tr
from thread_repair import case as cases
from thread_repair import words
from thread_repair.cli import main
from thread_repair.facts import Term

from .conftest import in_this_process

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("without_chances")]

ROOT = Path(__file__).parents[2]
LONG = {
    "title": "Repair of a stripped thread " * 12,
    "item": "rig mounting plate, drawing RP-100, second sheet (invented) " * 12,
    "customer": "Example Test House, department of fixtures (invented) " * 8,
    "serials": ", ".join(f"{n:03}" for n in range(1, 120)),
    "load_factor_source": "project specification, section 4, table 7 (invented) " * 12,
    "prepared_by": "A. Example, of the works (invented) " * 5,
}
#: As many words, criteria and units as anybody has.
MOST = {
    **LONG, "report_units": "both", "insert_kind": "locking", "parent": "356.0-T6-sand",
    "casting_factor": "0.8", "temperature": "80 degC", "fitting_factor": "1.15",
    "insert_length": "1 D", "clamped_material": "6061-T6",
}  # fmt: skip
#: Notebook, the demonstration it starts from, whether it has contents, and what else is given.
KINDS = {
    "repair_justification": ("demo-rig-plate", True, MOST),
    "design_review": ("demo-rig-plate", True, MOST),
    "pull_test_evidence": ("pull-tests-demo", True, {}),
    "concession_sheet": ("demo-rig-plate", False, {}),
    "hole_preparation": ("demo-rig-plate", False, {}),
}


def opening(folder, notebook):
    """Return a copy of a notebook with nothing but a heading behind its contents, if it has any."""
    node = nbformat.read(ROOT / "notebooks" / f"{notebook}.ipynb", as_version=4)
    at = next((i for i, cell in enumerate(node.cells) if cell.source == "[TOC]"), None)
    if at is not None:
        node.cells[at + 1 :] = [nbformat.v4.new_markdown_cell("## Rest")]
        for cell in node.cells:
            if cell.cell_type == "markdown":  # what is cut off cannot be referred to
                cell.source = re.sub(r"@\w+:[\w-]+", "Table 99", cell.source)
    file = folder / f"{notebook}.ipynb"
    nbformat.write(node, file)
    return file


def build(folder, notebook, demo, **changes):
    """Build the first pages of a demonstration's report with other values: the text of each page."""
    source = ROOT / "reports" / demo
    given = {**cases.load_text(source), **changes}
    for file in source.rglob("*.csv"):
        copy = folder / file.relative_to(source)
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_bytes(file.read_bytes())
    lines = (f'{key}: "{value}"'.replace("\n", " ") for key, value in given.items())
    (folder / "case.yaml").write_text("\n".join(lines) + "\n")
    own = folder / "own"
    own.mkdir()
    file = str(opening(own, notebook))
    with in_this_process(pictures=False):
        assert main(["report", str(folder), "--notebook", file, "--to", "pdf"]) == 0
    return [re.sub(r"\s+", " ", text) for text in pages_of(folder / f"{notebook}.pdf")]


@pytest.fixture(scope="module", params=KINDS)
def refused(request, tmp_path_factory):
    demo, contents, more = KINDS[request.param]
    folder = tmp_path_factory.mktemp(request.param)
    return folder, build(folder, request.param, demo, design_load="30 kN", **more), contents


def test_a_refused_repair_is_refused_on_the_first_page(refused):
    """30 kN with 1.5 make 45 kN on the screw, which holds 29.3 kN."""
    folder, pages, contents = refused
    study = tr.study(cases.load(folder))
    assert "does not support the repair" in pages[0]
    if contents:
        assert "does not authorise the repair" in pages[0]
    assert ("margin_screw_tension") in dict(map(reversed, study.conclusion.failed))
    for number, id_ in study.conclusion.failed:
        assert words.term(Term("criterion", id_)) in pages[0]
        assert re.search(rf"criteri(on|a)[ \d,and]*\b{number}\b", pages[0])


def test_contents_begin_the_second_page(refused):
    _, pages, contents = refused
    assert bool(re.search(r"DRAFT Contents", pages[1])) == contents


@pytest.mark.parametrize("refused", [False, True])
def test_a_letter_is_one_page(tmp_path, refused):
    """Also where nothing is met, and with as many words as anybody writes."""
    changes = {**MOST, "design_load": "30 kN"} if refused else {"report_units": "inch"}
    (page,) = build(tmp_path, "letter", "demo-rig-plate", **changes)
    assert "You asked whether" in page and "Approved by" in page
    assert ("does not support" in page) == refused
    assert page.count("Margin of safety,") == 1 and "Enclosed: calculation DEMO-001" in page


def test_the_first_page_of_a_docx_is_set_to_fit(tmp_path):
    """Many words get smaller type than few; every run and mark has a size, one page break follows."""
    from thread_repair.report import docx

    def document(words):
        cells = (
            f'<w:p><w:pPr><w:pStyle w:val="BodyText" /></w:pPr><w:r><w:t>{words}</w:t></w:r></w:p>'
        )
        return (
            f'<w:document xmlns:w="{docx._W[1:-1]}"><w:body>{cells * 6}'
            '<w:p><w:r><w:br w:type="page"/></w:r></w:p><w:p><w:r><w:t>rest</w:t></w:r></w:p>'
            "</w:body></w:document>"
        )

    sizes = []
    for count in (10, 150, 250):
        text = docx.fitted(document("word " * count))
        first = text[: text.index("w:br")]
        found = set(re.findall(r'<w:sz w:val="(\d+)"/>', first))
        assert len(found) == 1 and len(re.findall("<w:sz ", first)) == 12
        size = int(found.pop()) / 2
        assert docx.estimate(first[: first.rindex("<w:p>")], size) <= docx.HEIGHT
        sizes.append(size)
    assert sizes[0] == 10.5 and sizes == sorted(sizes, reverse=True) and sizes[2] < sizes[1]
    assert docx.fitted("<w:p></w:p>") == "<w:p></w:p>"


def test_a_table_and_a_title_are_as_high_as_their_lines():
    """453.6 pt: 258 letters of 9 pt in three quarters less 10 make four lines, not three."""
    from thread_repair.report import docx

    def paragraph(words, of=""):
        return f"<w:p><w:pPr>{of}</w:pPr><w:r><w:t>{words}</w:t></w:r></w:p>"

    left, heading = '<w:jc w:val="left" />', '<w:pStyle w:val="Title" />'
    cells = "".join(f"<w:tc>{paragraph(each, left)}</w:tc>" for each in ("x", "y" * 258))
    page = (
        f'<w:document xmlns:w="{docx._W[1:-1]}"><w:body>'
        f"{paragraph('Report', heading)}"
        '<w:tbl><w:tblGrid><w:gridCol w:w="1" /><w:gridCol w:w="3" /></w:tblGrid>'
        f"<w:tr>{cells}</w:tr></w:tbl>{paragraph('words')}"
    )
    title, table, text = 1.15 * 14 + 3, 4 * 1.15 * 9 + 2.5, 1.15 * 10 + 3
    assert docx.estimate(page, 10) == pytest.approx(title + table + text)
    whole = docx.fitted(f"{page}<w:sectPr/></w:body></w:document>", whole=True)
    assert re.findall(r'<w:sz w:val="(\d+)"/>', whole) == [
        *["28"] * 2, *["19"] * 4, *["21"] * 2,
    ]  # fmt: skip
