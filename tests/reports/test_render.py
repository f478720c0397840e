"""One Markdown document becomes three that say the same."""

import datetime
import html
import json
import re
import shutil
import subprocess
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import docx as python_docx
import pypdf
import pytest
from pdf_text import pages_of

from thread_repair import units
from thread_repair.errors import InputError, ReportError
from thread_repair.report import render
from thread_repair.report.document import DocumentInfo

from .conftest import HOSTILE

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
INFO = DocumentInfo(title="T", document="D-1", status="final")


def rendered(folder, markdown, info=INFO, formats=("pdf", "html", "docx")):
    (folder / "figures").mkdir(exist_ok=True)
    files = render.render(markdown, info, folder, formats)
    for kind, file in files.items():
        render.check(kind, file)
    return files


def pdf_text(file):
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(file).pages)


def html_text(file):
    body = re.sub(
        r"<style>.*?</style>|<annotation.*?</annotation>", "", file.read_text(), flags=re.S
    )
    return html.unescape(re.sub(r"<[^>]+>", "", body))


def docx_text(file):
    with zipfile.ZipFile(file) as archive:
        xml = archive.read("word/document.xml").decode() + archive.read("word/header1.xml").decode()
    return html.unescape("".join(re.findall(r"<w:t(?: [^>]*)?>([^<]*)</w:t>", xml)))


READ = {"pdf": pdf_text, "html": html_text, "docx": docx_text}


def squeezed(text):
    return re.sub(r"\s+", "", text)


def test_numbers_and_references_agree(tmp_path):
    text = (
        "# Kind\n\n## One\n\nSee @eq:b, @tbl:t, @sec:two and @sec:deeper.\n\n"
        "$$a$$ {-}\n\n$$b$$\n\ntext $$c$$ {#eq:b}, more text.\n\n"
        "| h |\n|---|\n| c |\n\n: First\n\n| h |\n|---|\n| c |\n\n: Second *c* {#tbl:t}\n\n"
        "## Two\n\n### Deeper\n\nMail to a@b and @someone."
    )
    files = rendered(tmp_path, text)
    expected = "SeeEquation(2),Table2,Section2andSection2.1."
    for kind, file in files.items():
        words = squeezed(READ[kind](file))
        assert expected in words, kind
        assert "Table1.First" in words and "Table2.Secondc" in words, kind
        assert "(1)" in words and "(2)" in words and "(3)" not in words, kind
        assert "moretext." in words and "{" not in words, kind
        assert "Mailtoa@band@someone." in words, kind


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("See @fig:none.", "the reference @fig:none points to nothing"),
        ("$$a$$ {#eq:a}\n\n$$b$$ {#eq:a}", "label eq:a is used twice"),
        ("## A\n\n#### B", "the heading 'B' skips a level"),
        ("![x](/etc/passwd)", "a picture in the text .*has no caption"),
        ("a ![x](http://127.0.0.1/x.png) b", "a picture in the text .*has no caption"),
    ],
)
def test_faults_of_the_words_are_named(tmp_path, text, fault):
    for kind in READ:
        with pytest.raises(ReportError, match=fault):
            rendered(tmp_path, text, formats=(kind,))


def test_raw_html_tex_typst_and_metadata_stay_words(tmp_path):
    text = (
        "---\ntitle: not hidden\n---\n\n<script>alert(1)</script> <b onclick='x'>bold</b>\n\n"
        '`#read("/etc/passwd")`{=typst} \\input{/etc/passwd} #read("/etc/passwd")\n\n'
        "```{=html}\n<script>2</script>\n```\n\n::: {.cell}\nin a div\n:::\n"
    )
    files = rendered(tmp_path, text)
    for kind, file in files.items():
        words = squeezed(READ[kind](file)).replace("“", '"').replace("”", '"')
        assert "<script>alert(1)</script>" in words, kind
        assert "root:" not in words, kind
        assert "nothidden" in words, kind
        assert 'read("/etc/passwd")' in words, kind
    assert "<script" not in files["html"].read_text()


def test_every_word_of_the_title_block_is_literal(tmp_path):
    info = DocumentInfo(
        title=HOSTILE,
        document=HOSTILE,
        revision=HOSTILE,
        customer=HOSTILE,
        item=HOSTILE,
        serials=HOSTILE,
        prepared_by=HOSTILE,
        checked_by=HOSTILE,
        approved_by=HOSTILE,
    )
    files = rendered(tmp_path, "Words.", info)
    expected = squeezed(HOSTILE)
    for kind, file in files.items():
        assert squeezed(READ[kind](file)).count(expected) >= 9, kind
    assert pypdf.PdfReader(files["pdf"]).metadata.title == HOSTILE
    properties = python_docx.Document(files["docx"]).core_properties
    assert properties.title == HOSTILE and properties.author == HOSTILE
    (author,) = re.findall('<meta name="author" content="([^"]*)">', files["html"].read_text())
    assert squeezed(html.unescape(author)) == expected


def test_the_pdf_is_tagged_and_says_what_it_is(tmp_path):
    info = DocumentInfo(
        title="T",
        document="D-1",
        revision="C",
        date=datetime.date(2024, 2, 29),
        prepared_by="A",
    )
    reader = pypdf.PdfReader(rendered(tmp_path, "## A\n\nInline $x^2$.", info, ("pdf",))["pdf"])
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root and root["/Lang"].startswith("en")
    assert b"pdfuaid:part" in root["/Metadata"].get_data()
    assert "20240229" in reader.metadata["/CreationDate"]
    page = reader.pages[0].extract_text()
    assert "D-1 · Revision C" in page and "page 1 of 1" in page and "DRAFT" in page


def test_letters_beyond_latin(tmp_path):
    text = "Grüße, Ελληνικά, кириллица, שלום, مرحبا, ≥ ± µ × ² ⌀ → 10 °C."
    files = rendered(tmp_path, text)
    for kind in ("html", "docx"):
        assert text in READ[kind](files[kind]).replace("\u00a0", " ")
    assert "кириллица" in pdf_text(files["pdf"])


def test_a_letter_that_no_font_has_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(render, "_all_fonts", lambda: render._own_fonts(tmp_path / "again"))
    (tmp_path / "again").mkdir()
    with pytest.raises(InputError, match="no font on this machine has '漢', which"):
        rendered(tmp_path, "Name: 漢字.", formats=("pdf",))
    assert "漢字" in html_text(rendered(tmp_path / "again", "漢字", formats=("html",))["html"])


def test_the_layout_and_the_formats_are_checked(tmp_path):
    with pytest.raises(InputError, match="unknown format 'PDF'"):
        rendered(tmp_path, "x", formats=("PDF",))
    with pytest.raises(InputError, match="no format is asked for"):
        rendered(tmp_path, "x", formats=())
    with pytest.raises(InputError, match="layout must be one of report, sheet, letter, got"):
        DocumentInfo(title="T", layout="poster")


def test_a_docx_has_native_equations_and_table_heads(tmp_path):
    text = "$$\\frac{a}{b}$$\n\n| h [mm] |\n|---:|\n| 1 |\n\n: Cap"
    file = rendered(tmp_path, text, formats=("docx",))["docx"]
    with zipfile.ZipFile(file) as archive:
        xml = archive.read("word/document.xml").decode()
    assert "<m:f>" in xml and "w:tblHeader" in xml
    assert [row.cells[0].text for row in python_docx.Document(file).tables[-1].rows] == [
        "h [mm]",
        "1",
    ]


def test_a_docx_is_read_the_same_by_more_than_one_word_processor(tmp_path):
    """Rows stay whole, a link leads to a point within a paragraph, units in equations are words."""
    table = "| h | k |\n|---|---|\n| 1 | 2 |\n\n: Cap {#tbl:x}\n\n@tbl:x, @eq:y\n\n"
    equation = "$$\\begin{aligned} a &= 2\\,\\mathrm{N\\cdot m} \\\\ &= b \\end{aligned}$$ {#eq:y}"
    file = rendered(tmp_path, f"## Alpha\n\n{table}{equation}", formats=("docx",))["docx"]
    with zipfile.ZipFile(file) as archive:
        xml = archive.read("word/document.xml").decode()
    assert xml.count("<w:cantSplit/>") == xml.count("<w:tr>") > 0
    parents = {child: each for each in ElementTree.fromstring(xml).iter() for child in each}
    marks = {e.get(f"{W}name"): parents[e].tag for e in parents if e.tag == f"{W}bookmarkStart"}
    assert marks.keys() >= {"alpha", "tbl:x", "eq:y"} and set(marks.values()) == {f"{W}p"}
    assert "<m:t>N·m</m:t>" in xml and "<m:eqArr>" not in xml and "&amp;" not in xml


def test_html_has_mathml_and_fetches_nothing(tmp_path):
    text = rendered(tmp_path, "## A\n\n$$\\frac{a}{b}$$", formats=("html",))["html"].read_text()
    assert "<mfrac>" in text and "Content-Security-Policy" in text and '<html lang="en">' in text
    assert not re.search(r"(src|href)=\"https?:|@import|url\(", text)


@pytest.mark.parametrize(
    ("kind", "content", "fault"),
    [
        ("pdf", b"%PDF-1.7\n", "is not a complete PDF"),
        ("pdf", b"%PDF-1.7\n%%EOF", "has no pages"),
        (
            "html",
            b"<html><body><main></main></body></html><script></script></html>",
            "has a <script>",
        ),
        ("html", b"<html><body><main></main>", "is not a complete HTML page"),
        ("html", b'<html><body><main><img src="https://x/y"></main></body></html>', "would fetch"),
        ("html", b'<html><body><main><b onclick="x"></b></main></body></html>', "has a script"),
        ("docx", b"PK", "is not a complete DOCX"),
    ],
)
def test_a_damaged_document_is_refused(tmp_path, kind, content, fault):
    file = tmp_path / f"report.{kind}"
    file.write_bytes(content)
    with pytest.raises(ReportError, match=fault):
        render.check(kind, file)


def test_formulas_that_cannot_be_read_are_told(tmp_path):
    for kind in READ:
        with pytest.raises(ReportError, match=r"the formula \\frac\{a cannot be read"):
            rendered(tmp_path, "$\\frac{a$ and $\\nosuchmacro{x}$", formats=(kind,))
        shutil.rmtree(tmp_path / "fonts", ignore_errors=True)


def test_odd_headings(tmp_path):
    text = (
        "# T\n\n## Größe & Maß: 2.5 mm $F$ *x* `y` #1 [z]\n\n### Deep\n\n## Again {-}\n\n"
        "## Again\n\n## \\<b\\>\n\n[TOC]\n\nSee @sec:deep. [Go](#again-1)."
    )
    for kind, file in rendered(tmp_path, text).items():
        assert "SeeSection1.1.Go." in squeezed(READ[kind](file)), kind


def test_a_table_may_be_empty_or_have_no_head(tmp_path):
    rendered(tmp_path, "| a | b |\n|---|---|\n\n: Empty\n\n+---+---+\n| c | d |\n+---+---+\n")


def test_pandoc_failing_is_one_sentence(tmp_path, monkeypatch):
    def stuck(*_, **__):
        raise subprocess.TimeoutExpired("pandoc", 60)

    monkeypatch.setattr(subprocess, "run", stuck)
    with pytest.raises(ReportError, match="pandoc took longer than"):
        rendered(tmp_path, "x", formats=("html",))
    assert json.loads((tmp_path / "info.json").read_text())["title"] == "T"


def test_no_pandoc_of_the_machine_is_used(tmp_path, monkeypatch):
    import pypandoc

    other = tmp_path / "pandoc"
    other.write_text("#!/bin/sh\necho pandoc 99.0\n")
    other.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv("PYPANDOC_PANDOC", str(other))
    assert render.pandoc.__wrapped__().is_relative_to(Path(pypandoc.__file__).parent)


def test_no_row_of_a_table_stands_alone_on_a_page(tmp_path):
    """Among these tables some would break behind the first row, some before the last."""
    parts = ["# Kind\n"]
    for table in range(24):
        rows = "".join(f"| t{table}r{row} | x |\n" for row in range(10 + 10 * table % 13))
        parts.append(f"| a | b |\n|---|---|\n{rows}\n: Table\n")
    file = rendered(tmp_path, "\n".join(parts), formats=("pdf",))["pdf"]
    pages = [page.extract_text() for page in pypdf.PdfReader(file).pages]
    counts = [[len(re.findall(rf"\bt{table}r", text)) for text in pages] for table in range(24)]
    assert [sum(each) for each in counts] == [10 + 10 * table % 13 for table in range(24)]
    broken = [[n for n in each if n] for each in counts]
    assert sum(len(each) > 1 for each in broken) > 6
    assert min(map(min, broken)) >= 2


def test_a_number_and_its_unit_stand_on_one_line(tmp_path):
    """Of lines of every length some would end between the two, or within what touches them."""
    text = "\n\n".join(
        f"{'word ' * n}{'i' * m} 153 kN (5 %), 2.50 mm; 16.5 N·m"
        for n in range(8, 18)
        for m in range(8)
    )
    lines = pdf_text(rendered(tmp_path, text, formats=("pdf",))["pdf"]).splitlines()
    own = [line.split() for line in lines if re.fullmatch(r"(word|[i\d().,;%kNm·\s])+", line)]
    assert len(own) > 100
    assert {each[0] for each in own} <= {"word", "153", "(5", "2.50", "16.5"}
    assert all(re.fullmatch(r"word|i+|kN|%\),|mm;|N·m", each[-1]) for each in own)


def test_no_line_of_html_or_docx_ends_between_a_number_and_its_unit(tmp_path):
    text = (
        "Of 153 kN (5 %), **16.5 N·m** and\n36.61 mm², in 3 inserts.\n\n"
        "| at 20 °C |\n|---|\n| 2.50 mm; 1.5 D |\n\n: By 1100 lbf\n"
    )
    bound = ["153_kN", "5_%", "16.5_N·m", "36.61_mm²", "20_°C", "2.50_mm", "1.5_D", "1100_lbf"]
    files = rendered(tmp_path, text, formats=("html", "docx"))
    page = files["html"].read_text()
    told = {
        "html": re.sub(r'<span class="quantity">(\S+) (\S+)</span>', r"\1_\2", page),
        "docx": docx_text(files["docx"]).replace("\u00a0", "_"),
    }
    assert ".quantity { white-space: nowrap; }" in page
    for kind, words in told.items():
        assert [each for each in bound if each not in words] == [], kind
        assert "3 inserts" in words, kind


def test_the_documents_know_every_unit_that_is_printed():
    """A template for the PDF and one for the others keep a number with its unit."""
    kinds = units.DIMENSIONS.values()
    printed = (unit for kind in kinds for unit, *_ in kind.printed.values())
    known = {each.rstrip("²³") for each in printed if each and not each[0].isdecimal()}
    templates = Path(render.__file__).parent / "templates"
    in_pdf = re.search(r"#let unit = \"\(%\|\((\S+?)\)", (templates / "report.typ").read_text())[1]
    others = re.search(r"for unit in \(\"(.+?)\"\)", (templates / "report.lua").read_text())[1]
    assert {"%", *in_pdf.split("|")} == {*others.split()} and known <= {*others.split()}


def test_an_alloy_and_its_temper_stand_on_one_line(tmp_path):
    """Of lines of every length some would end at the hyphen."""
    alloys = ("6061-T6", "EN-AC-42100-T6", "356.0-T51", "5083-O", "356.0-T6-sand")
    text = "\n\n".join(
        f"{'i' * length} " + f"word in {alloy} " * 20 for alloy in alloys for length in range(1, 20)
    )
    read = pdf_text(rendered(tmp_path, text, formats=("pdf",))["pdf"])
    assert sum(read.count(alloy.removeprefix("EN-AC-")) for alloy in alloys) == 20 * 19 * len(
        alloys
    )


@pytest.mark.parametrize("head", ["**Conditions**", "Some words, then Conditions:"])
def test_a_line_stays_with_what_it_is_the_head_of(tmp_path, head):
    """ "Conditions" ended a page, their list began the next."""
    line = "line  \n"
    texts = (f"{line * lines}\n\n{head}\n\n1. first" for lines in range(20, 60))
    pages = pages_of(rendered(tmp_path, "\n\n".join(texts), formats=("pdf",))["pdf"])
    for page in pages:
        assert page.count("Conditions") == page.count("first")
    (tmp_path / "docx").mkdir()
    file = rendered(tmp_path / "docx", f"{head}\n\n1. first\n\nLast.", formats=("docx",))["docx"]
    first = next(each for each in python_docx.Document(file).paragraphs if "Cond" in each.text)
    assert first.style.paragraph_format.keep_with_next


def test_a_quotation_stands_no_further_from_the_text_than_a_paragraph(tmp_path):
    """Seven millimetres were empty above and below, on a page whose type had to be small."""
    file = rendered(tmp_path, "One\n\n> Two\n\n" * 10, formats=("pdf",))["pdf"]
    assert len(pypdf.PdfReader(file).pages) == 1


def test_the_first_page_of_html_is_followed_by_the_contents_wherever_it_ends(tmp_path):
    """Nothing is fitted to a page there: printed, three lines stood alone on the second or third."""
    page = rendered(tmp_path, "## A\n\n[TOC]\n\n## B\n\n---\n\n", formats=("html",))["html"]
    assert page.read_text().count('<div class="page-break">') == 1
