"""Name, logo, dates and foot of a company, on every page of every format, or one sentence a fault."""

import datetime
import shutil
import zipfile
from pathlib import Path

import docx
import pypdf
import pytest

from thread_repair.errors import InputErrors
from thread_repair.report.document import NONE, company
from thread_repair.report.jobs import build
from thread_repair.report.selection import select

ROOT = Path(__file__).parents[2]
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 12 4"><rect width="12" height="4"/></svg>'
)


def write(folder, text, logo=SVG):
    (folder / "thread_repair.toml").write_text(text, encoding="utf-8")
    if logo:
        (folder / "logo.svg").write_text(logo, encoding="utf-8")


def test_the_nearest_file_above_counts(tmp_path):
    below = tmp_path / "a" / "b"
    below.mkdir(parents=True)
    assert company(below) == NONE
    write(tmp_path, 'company = "Far"')
    assert company(below).company == "Far"
    write(tmp_path / "a", 'company = "Near"')
    assert company(below).company == "Near"


@pytest.mark.parametrize(
    ("language", "style", "said"),
    [
        ("en", "iso", "2026-11-25"),
        ("de", "long", "25. November 2026"),
        ("en-GB", "long", "25 November 2026"),
        ("fr", "d MMM y", "25 nov. 2026"),
    ],
)
def test_dates(tmp_path, language, style, said):
    write(tmp_path, f'date_language = "{language}"\ndate_format = "{style}"')
    assert company(tmp_path).date(datetime.date(2026, 11, 25)) == said


@pytest.mark.parametrize(
    ("text", "logo", "said"),
    [
        ('compny = "x"', "", "unknown key 'compny'; did you mean 'company'?"),
        ("footer = 3", "", "footer: expected text in quotes"),
        ('logo = "none.png"', "", "logo: no file 'none.png'"),
        ('logo = "../x.png"', "", "logo: '../x.png' leads out"),
        ('logo = "logo.svg"', "<svg", "neither a PNG nor an SVG"),
        ('logo = "logo.svg"', SVG.replace("<rect", "<script/><rect"), "runs or loads something"),
        ('date_language = "xq"', "", "date_language: 'xq' is no language"),
        ('date_format = "dd"', "", "date_format: 'dd' shows no year"),
        ("company = ", "", "not TOML"),
    ],
)
def test_one_sentence_a_fault(tmp_path, text, logo, said):
    write(tmp_path, text, logo)
    with pytest.raises((InputErrors, ValueError)) as caught:
        company(tmp_path)
    assert str(caught.value).startswith("thread_repair.toml: ") and said in str(caught.value)


@pytest.mark.slow
@pytest.mark.usefixtures("without_chances", "at_once")
def test_every_format_shows_it_and_a_change_is_noticed(tmp_path):
    (tmp_path / "case").mkdir()
    shutil.copy(ROOT / "reports" / "demo-rig-plate" / "case.yaml", tmp_path / "case")
    write(tmp_path, 'company = "Works <X>"\nlogo = "logo.svg"\nfooter = "1 Street"\n'
                    'date_format = "long"\ndate_language = "de"')  # fmt: skip
    (job,) = select([tmp_path / "case"], notebook="letter", formats=("pdf", "html", "docx"))
    done = build(job)
    assert done.faults == ()
    files = {file.suffix: file for file in done.files.values()}
    (page,) = pypdf.PdfReader(files[".pdf"]).pages
    text = page.extract_text()
    assert text.count("Works <X>") == 2 and "1 Street" in text and "25. November 2026" in text
    html = files[".html"].read_text("utf-8")
    assert "Works &lt;X&gt;" in html and "1 Street" in html and "Logo of" in html
    document = docx.Document(files[".docx"])
    section = document.sections[0]
    assert "Works <X>" in section.header.paragraphs[0].text
    assert "1 Street" in section.footer.paragraphs[0].text
    assert document.paragraphs[0].text.startswith("Works <X>") and len(document.inline_shapes) == 1
    with zipfile.ZipFile(files[".docx"]) as archive:
        assert any(
            b" PAGE " in archive.read(name) for name in archive.namelist() if "footer" in name
        )
    assert build(job).unchanged
    (tmp_path / "logo.svg").write_text(SVG.replace("<rect", '<rect fill="red"'))
    again = build(job)
    assert again.faults == () and not again.unchanged
