"""Figures, tables and the sign-off block as a notebook shows them."""

import pytest
from matplotlib.figure import Figure

from thread_repair.errors import InputError
from thread_repair.report.figure import METADATA, Markup, ReportFigure, ReportTable


def drawn() -> Figure:
    figure = Figure(figsize=(4, 2))
    figure.subplots().plot([0, 1], [0, 1])
    return figure


def test_a_figure_is_the_same_bytes_every_time():
    first, meta = ReportFigure(drawn(), caption="c", alt="a")._repr_mimebundle_()
    second, _ = ReportFigure(drawn(), caption="c", alt="a")._repr_mimebundle_()
    assert first == second
    assert "<dc:date>" not in first["image/svg+xml"]
    assert meta[METADATA]["width_mm"] == pytest.approx(101.6)


def test_a_figure_needs_caption_and_alternative_text():
    for words in ({"caption": "", "alt": "a"}, {"caption": "c", "alt": " "}):
        with pytest.raises(InputError, match="needs both a caption and an alternative text"):
            ReportFigure(drawn(), **words)


def test_a_label_is_a_plain_word():
    with pytest.raises(InputError, match="lower-case letters"):
        ReportFigure(drawn(), caption="c", alt="a", label="x} <script>")


def test_cells_are_literal_unless_marked():
    text = ReportTable(["a|b", Markup("$F$ [kN]")], [["<b>", "x\ny"]]).markdown()
    assert "a\\|b" in text and "$F$ [kN]" in text and "\\<b\\>" in text and "x y" in text
    assert "&lt;b&gt;" in ReportTable(["h"], [["<b>"]]).html()


def test_a_table_that_does_not_fit_together_is_refused():
    with pytest.raises(InputError, match="a row has 1 cells, the header has 2"):
        ReportTable(["a", "b"], [["x"]])
    with pytest.raises(InputError, match="needs a caption"):
        ReportTable(["a"], [["x"]], label="t")


def test_columns_are_left_unless_told_and_empty_tables_stand():
    assert ReportTable(["a", "b"], [["x", 1]]).alignment == ("left", "left")
    right = ReportTable(["a"], [["x"]], alignment=["right"])
    assert "---:" in right.markdown() and "text-align: right" in right.html()
    assert ReportTable(["a"], []).markdown().count("\n") == 1


def test_the_sign_off_block_has_a_row_a_role():
    head = ["Role", "Name", "Signature", "Date"]
    rows = [["Prepared", "A <b>", "", ""], ["Approved", "", "", ""]]
    signed = ReportTable(head, rows, division="sign-off")
    text = signed._repr_mimebundle_()["text/markdown"]
    assert text.startswith("::: {.sign-off}\n|") and text.endswith("|\n:::")
    assert "A \\<b\\>" in text
