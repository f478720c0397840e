"""The whole way: notebook to published documents, read back."""

import json
import os
import signal
import time
import zipfile
from pathlib import Path

import nbformat
import pypdf
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook
from whole import is_whole

from thread_repair.errors import InputError, ReportError
from thread_repair.report import build, run
from thread_repair.report.build import Subject, results_text, terminal_progress, with_program
from thread_repair.report.document import DocumentInfo

from .conftest import HOSTILE
from .conftest import published as build_report
from .test_render import READ, squeezed
from .typed import function, gone, until

pytestmark = pytest.mark.slow

NAMES = {
    "toy.pdf",
    "toy.html",
    "toy.docx",
    "toy.ipynb",
    "results.json",
    ".thread-repair.json",
}


def small(tmp_path, source, name="small.ipynb"):
    cells = [
        new_markdown_cell("# Small\n\n## Loads"),
        new_code_cell("a = 1", metadata={"tags": ["parameters"]}),
        new_code_cell(source),
    ]
    nbformat.write(new_notebook(cells=cells), tmp_path / name)
    return tmp_path / name


def test_everything_is_published_and_nothing_else(built):
    assert {path.name for path in built.files["results"].parent.iterdir()} == NAMES
    assert is_whole(built.files["results"].parent)
    results = json.loads(built.files["results"].read_text())
    assert results.pop("made_with")["python"]
    assert results == {"comparison": {"pull_out_ratio": 1.203, "none": None}}


def test_the_documents_say_the_same_words(built):
    for kind in ("pdf", "html", "docx"):
        words = squeezed(READ[kind](built.files[kind]))
        for part in (
            "Toycover",
            "TOY-0001",
            "Figure1.Strip",
            "Table1.",
            "seeEquation(1)",
            "inFigure1",
            "Section3",
            "Figure2.Thetwostates.",
            "100.25",
            "plainoutput12.0",
            "A.Writer",
            "Signature",
            "Contents",
            "Afootnotefollows",
        ):
            assert part in words, (kind, part)
        assert "thepersonatthekeyboard" not in words
        assert "figsize" not in words and "escape.markdown" not in words  # code stays hidden


def test_the_pdf_has_its_furniture(built):
    reader = pypdf.PdfReader(built.files["pdf"])
    count = len(reader.pages)
    for number, page in enumerate(reader.pages, 1):
        text = page.extract_text()
        assert f"page {number} of {count}" in text
        assert "TOY-0001 · Revision B" in text and "DRAFT" in text
    assert [item.title for item in reader.outline if not isinstance(item, list)] == [
        "1 Summary",
        "2 Method",
        "3 Limits",
    ]


def test_figures_have_alternative_text_in_every_format(built):
    alt = "A straight line from zero to 15 kN at 12 mm."
    assert f'alt="{alt}"' in built.files["html"].read_text()
    with zipfile.ZipFile(built.files["docx"]) as archive:
        assert f'descr="{alt}"' in archive.read("word/document.xml").decode()

    def alternatives(element):
        element = element.get_object()
        if isinstance(element, list):
            return [text for item in element for text in alternatives(item)]
        if not isinstance(element, dict):
            return []
        own = [str(element["/Alt"])] if "/Alt" in element else []
        return own + (alternatives(element["/K"]) if "/K" in element else [])

    found = alternatives(pypdf.PdfReader(built.files["pdf"]).trailer["/Root"]["/StructTreeRoot"])
    assert alt in found and "A sub s" in found


def test_hostile_text_is_words_in_every_format(tmp_path):
    source = """
from IPython.display import Markdown
from matplotlib.figure import Figure
from thread_repair.report import escape
from thread_repair.report.figure import ReportFigure, ReportTable
figure = Figure(layout="constrained")
axes = figure.subplots()
axes.set(title=escape.mathtext(a), xlabel=escape.mathtext(a))
display(Markdown("## " + escape.markdown(a) + "\\n\\nWords " + escape.markdown(a)))
display(ReportTable([a, "x"], [[a, 1]], caption=a, label="t"))
display(ReportFigure(figure, caption=a, alt=a))
display(ReportTable(["Role", "Name", "Sign", "Date"], [[a, a, "", ""]], division="sign-off"))
print(a)
"""
    text = HOSTILE + " \0 \u202e"
    built = build_report(
        notebook=small(tmp_path, source),
        parameters={"a": text},
        out_dir=tmp_path / "out",
        document=DocumentInfo(title=text, customer=text),
    )
    for kind in ("pdf", "html", "docx"):
        words = squeezed(READ[kind](built.files[kind]))
        assert words.count(squeezed(HOSTILE + "\\x00\\u202e")) >= 10, kind
        assert "root:" not in words, kind
    html = built.files["html"].read_text()
    assert "<script" not in html and "onclick" not in html


def test_a_failing_cell_publishes_nothing_and_keeps_what_was_there(tmp_path):
    folder = tmp_path / "case"
    document = DocumentInfo(title="T")
    good, bad = small(tmp_path, "print(a)"), small(tmp_path, "1 / 0", "bad.ipynb")
    build_report(
        notebook=good, parameters={"a": 1}, out_dir=folder, document=document, formats=("html",)
    )
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with pytest.raises(ReportError, match="code cell 3 under 'Loads' failed: ZeroDivisionError"):
        build_report(notebook=bad, parameters={"a": 1}, out_dir=folder, document=document)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize("late", [0.0, 0.008, 0.012])
def test_numbers_that_fail_end_the_notebook(tmp_path, monkeypatch, late):
    """Also while the first cell is about to be sent: then no other kernel is begun."""
    run_notebook = run._run
    monkeypatch.setattr(run, "_run", lambda *given: time.sleep(late) or run_notebook(*given))

    def numbers():
        raise InputError("no such thread")

    ran = tmp_path / "ran"
    source = f"import time\ntime.sleep(10)\nopen({str(ran)!r}, 'w')"
    subject = Subject(handed={"a": 1}, document=DocumentInfo(title="T"), numbers=numbers)
    with pytest.raises(InputError, match="no such thread"):
        build.build_report(subject, notebook=small(tmp_path, source), out_dir=tmp_path / "out")
    assert not ran.exists() and not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "change",
    [
        {"parameters": {"holes": []}},
        {"formats": ("doc",)},
        {"notebook": Path("none.ipynb")},
        {"out_dir": Path("/proc/none/x")},
    ],
)
def test_a_wrong_call_leaves_no_file_behind(tmp_path, change):
    call = {
        "notebook": small(tmp_path, "print(a)"),
        "parameters": {"a": 1},
        "out_dir": tmp_path / "out",
        "document": DocumentInfo(title="T"),
        **change,
    }
    with pytest.raises((ReportError, InputError)) as error:
        build_report(**call)
    assert "\n" not in str(error.value)
    assert not (tmp_path / "out").exists()


def test_a_glyph_missing_in_a_figure_is_told(tmp_path):
    source = (
        "from matplotlib.figure import Figure\n"
        "from thread_repair.report.figure import ReportFigure\n"
        "figure = Figure()\nfigure.subplots().set_title('\\u6f22')\n"
        "ReportFigure(figure, caption='c', alt='a')"
    )
    with pytest.raises(ReportError, match=r"gave a warning: .*[Gg]lyph"):
        build_report(
            notebook=small(tmp_path, source),
            parameters={},
            out_dir=tmp_path / "out",
            document=DocumentInfo(title="T"),
        )
    assert not (tmp_path / "out").exists()


def test_long_and_foreign_paths(tmp_path):
    folder = tmp_path / ("ö 漢 {x} 'q' " + "d" * 150) / ("e" * 200)
    build_report(
        notebook=small(tmp_path, "print(a)"),
        parameters={"a": 1},
        out_dir=folder,
        document=DocumentInfo(title="T"),
    )
    assert is_whole(folder)


def started(tmp_path, typed, source):
    """Start a build in another process and wait until its cell runs."""
    flag = tmp_path / "running"
    notebook = small(
        tmp_path, f"open({str(flag)!r}, 'w').write(str(__import__('os').getpid()))\n" + source
    )
    process = typed(notebook, tmp_path / "out", work=function)
    until(lambda: flag.exists() and flag.read_text(), process)
    return process, int(flag.read_text())


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="looks at processes")
def test_interrupted_it_clears_up(tmp_path, typed):
    process, kernel = started(tmp_path, typed, "import time; time.sleep(60)")
    os.kill(process.pid, signal.SIGINT)
    assert "KeyboardInterrupt" in process.end(30)[1]
    assert gone(kernel) and not (tmp_path / "out").exists()


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="looks at processes")
def test_killed_it_leaves_what_the_next_build_clears(tmp_path, typed):
    process, kernel = started(tmp_path, typed, "import time; time.sleep(60)")
    out = tmp_path / "out"
    with pytest.raises(ReportError, match="another build"):
        build_report(
            notebook=small(tmp_path, "print(a)"),
            parameters={},
            out_dir=out,
            document=DocumentInfo(title="T"),
        )
    process.kill()
    process.end(30)
    assert gone(kernel)
    assert [path.name for path in out.iterdir() if path.suffix != ".lock"]
    build_report(
        notebook=small(tmp_path, "print(a)"),
        parameters={},
        out_dir=out,
        document=DocumentInfo(title="T"),
        formats=("html",),
    )
    assert {path.name for path in out.iterdir()} == {
        "small.html",
        "small.ipynb",
        "results.json",
        ".thread-repair.json",
    }


def test_progress_names_each_stage_and_stays_silent_off_a_terminal(tmp_path, capsys):
    terminal_progress()("[1/4] start the notebook")
    assert capsys.readouterr().err == ""
    build_report(
        notebook=small(tmp_path, "print(a)"),
        parameters={"a": 1},
        formats=("html",),
        out_dir=tmp_path / "out",
        document=DocumentInfo(title="T"),
        progress=terminal_progress(always=True),
    )
    lines = capsys.readouterr().err.splitlines()
    assert [line[:5] for line in lines] == ["[1/4]", *["[2/4]"] * 3, "[3/4]", "[4/4]"]
    assert lines[1] == "[2/4] run the notebook, cell 1 of 3"


def test_results_are_the_same_bytes_for_the_same_numbers():
    import numpy as np

    text = results_text({"b": np.float64(1.5), "a": (1, float("inf")), "s": "mm²"})
    assert text == '{\n  "b": 1.5,\n  "a": [\n    1,\n    null\n  ],\n  "s": "mm²"\n}\n'
    with pytest.raises(ReportError, match=r"results\.json cannot hold a value"):
        results_text({"a": object()})


def test_what_made_a_report_stands_with_its_sources_or_at_the_end():
    report = "## Conclusion\n\nyes\n\n## Appendix: sources\n\nTable\n\n## Appendix: all\n\nend"
    said = with_program(report, "Made by it.")
    assert said.index("sources") < said.index("Made by it.") < said.index("Table")
    assert with_program("## Conclusion\n\nyes", "Made by it.").endswith("yes\n\nMade by it.\n")
