"""What of a notebook reaches the documents."""

import base64

import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from thread_repair.errors import ReportError
from thread_repair.report.figure import METADATA
from thread_repair.report.flatten import flatten, place

PNG = base64.b64encode(b"\x89PNG").decode()
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="10" height="10"/>'
TEXT = {METADATA: {"caption": "A caption", "alt": "Seen", "label": "one", "width_mm": 160.0}}


def shown(*outputs, source="secret_source()", tags=()):
    return new_code_cell(source, outputs=list(outputs), metadata={"tags": list(tags)})


def display(data, metadata=None):
    return new_output("display_data", data=data, metadata=metadata or {})


def flat(tmp_path, *cells):
    return flatten(new_notebook(cells=list(cells)), tmp_path)


def test_markdown_is_taken_as_it_is_and_code_is_hidden(tmp_path):
    text = flat(
        tmp_path,
        new_markdown_cell("## A\n\n*b*"),
        shown(display({"text/markdown": "**m**", "text/plain": "plain"})),
    )
    assert text == "## A\n\n*b*\n\n**m**\n"


def test_parameters_and_cells_marked_so_contribute_nothing(tmp_path):
    text = flat(
        tmp_path,
        *(
            shown(display({"text/plain": "x"}), tags=[tag])
            for tag in ("parameters", "injected-parameters", "no-report")
        ),
        new_markdown_cell("hidden", metadata={"tags": ["no-report"]}),
    )
    assert text.strip() == ""


def test_plain_output_is_printed_as_it_is(tmp_path):
    text = flat(
        tmp_path,
        shown(new_output("stream", name="stdout", text="# x\n")),
        shown(display({"text/plain": "1.5", "text/html": "<b>1.5</b>"})),
    )
    assert text == "```\n# x\n```\n\n```\n1.5\n```\n"


def test_controls_do_not_reach_paper(tmp_path):
    widget = {"application/vnd.jupyter.widget-view+json": {}, "text/plain": "IntSlider()"}
    assert flat(tmp_path, shown(display(widget))).strip() == ""


def test_a_figure_is_written_as_it_is_drawn(tmp_path):
    text = flat(tmp_path, shown(display({"image/svg+xml": SVG}, TEXT)))
    assert text == '![A caption](figures/figure-1.svg){#fig:one alt="Seen" width="160mm"}\n'
    assert (tmp_path / "figures/figure-1.svg").read_text() == SVG


def test_a_picture_without_words_is_refused(tmp_path):
    with pytest.raises(ReportError, match=r"code cell 2 under 'Loads'.*ReportFigure"):
        flat(tmp_path, new_markdown_cell("## Loads"), shown(display({"image/png": PNG})))
    pasted = new_markdown_cell("![](attachment:a.png)", attachments={"a.png": {"image/png": PNG}})
    with pytest.raises(ReportError, match="text cell 1 holds a pasted picture"):
        flat(tmp_path, pasted)


@pytest.mark.parametrize(
    "inside",
    [
        "<script>1</script>",
        '<image href="http://127.0.0.1/x"/>',
        '<g onload="x()"/>',
        "<foreignObject/>",
    ],
)
def test_a_picture_that_runs_or_loads_something_is_refused(tmp_path, inside):
    svg = f'<svg xmlns="http://www.w3.org/2000/svg">{inside}</svg>'
    with pytest.raises(ReportError, match="runs or loads"):
        flat(tmp_path, shown(display({"image/svg+xml": svg}, TEXT)))


def test_a_cell_is_named_by_its_heading():
    notebook = new_notebook(
        cells=[new_code_cell(""), new_markdown_cell("# T\n\n## Loads ##\n\nx"), new_code_cell("")]
    )
    assert place(notebook, 0) == "code cell 1"
    assert place(notebook, 2) == "code cell 3 under 'Loads'"
