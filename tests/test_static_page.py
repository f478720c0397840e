"""The live notebook as one HTML file: whole, without scripts, with the notebook's own words."""

import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import nbformat
import pytest

from thread_repair.cli import main
from thread_repair.errors import ReportError
from thread_repair.teaching import explorer, pictures, static, texts
from thread_repair.units import number

NOTEBOOK = Path(__file__).parent.parent / "notebooks" / "why_inserts.ipynb"


@cache
def notebook():
    return nbformat.read(NOTEBOOK, as_version=4)


@pytest.fixture(scope="module")
def page(page_without_scripts):
    return page_without_scripts.read_text("utf-8")


class Reader(HTMLParser):
    VOID = frozenset({"meta", "input", "img", "br", "hr"})

    def __init__(self):
        super().__init__()
        self.tags, self.open, self.words = [], [], []

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] != "annotation":
            self.words.append(data)


@pytest.fixture(scope="module")
def read(page):
    reader = Reader()
    reader.feed(page)
    assert reader.open == []
    return reader


def test_it_is_one_file_without_scripts_or_addresses(page, read):
    names = {tag for tag, _ in read.tags}
    assert not names & {"script", "link", "iframe", "object", "embed", "form", "base"}
    for _, attributes in read.tags:
        assert not [name for name in attributes if name.startswith("on")]
        for name in ("src", "href"):
            assert attributes.get(name, "data:").startswith(("data:", "#"))
    assert "url(" not in page and "@import" not in page
    addresses = set(re.findall(r"https?://[^\"'<> ]+", page))
    assert addresses <= {"http://www.w3.org/1998/Math/MathML", "http://www.w3.org/2000/svg"}
    assert len(page) < 1_000_000


def test_a_handful_of_positions_each_with_every_picture(page, read):
    def tags(name):
        return [attributes for tag, attributes in read.tags if tag == name]

    assert 5 <= len(static.POSITIONS) <= 8
    choices = [a for a in tags("input") if a["type"] == "radio"]
    assert [a["id"] for a in choices] == [f"p{i}" for i in range(len(static.POSITIONS))]
    assert [a["for"] for a in tags("label")] == [a["id"] for a in choices]
    assert len([a for a in choices if "checked" in a]) == 1
    images = tags("svg")
    steps = sum("still" in c.source or "triangles" in c.source for c in notebook().cells)
    assert len(images) == len(static.POSITIONS) * len(pictures.PICTURES) + steps - 2
    assert all(len(a["aria-label"]) > 40 and a["role"] == "img" for a in images)
    for i in range(len(static.POSITIONS)):
        assert f"#p{i}:checked ~ #s{i} {{ display: block; }}" in page


@pytest.mark.parametrize("position", [p for _, _, p in static.POSITIONS])
def test_the_numbers_are_those_of_the_positions(read, position):
    ratio = number(explorer.strip(position).ratio)
    assert f"Ratio {ratio}, repaired over original: " in " ".join(read.words)


def test_what_is_said_of_a_position_is_so():
    found = {name: explorer.strip(position) for name, _, position in static.POSITIONS}
    usual = found["A usual case"]
    assert usual.ratio > 1.1 and usual.states["repaired"].pull_out > usual.screw_max
    assert found["Short"].ratio < found["A usual case"].ratio
    assert found["Thin boss"].ratio < 1
    small, short = found["Small and short"], found["Short"]
    kept = [s.engaged / s.nominal for s in (each.states["repaired"] for each in (small, short))]
    assert kept[0] < kept[1]
    assert small.ratio / kept[0] > 1.2
    weak = found["Weak parent, strong screw"]
    assert min(each.crossing for each in weak.states.values()) > 2.5 * weak.diameter
    basic = found["Basic sizes"]
    for state in ("original", "repaired"):
        assert basic.states[state].pull_out > found["A usual case"].states[state].pull_out


def test_the_words_are_those_of_the_notebook(read):
    said = re.sub(r"\s+", " ", " ".join(read.words))
    for cell in notebook().cells:
        if cell.cell_type == "markdown":
            for heading in re.findall(r"^#+ (.*)$", cell.source, re.MULTILINE):
                assert heading in said, heading
    for name in texts.PAGES:
        for line in re.findall(r"\*\*(.*?)\*\*", texts.markdown(name)):
            assert line in said
    assert "control" not in said.rpartition("}")[2], "it has none"
    assert "$" not in said and "STILLS" not in said and "{#" not in said


def test_the_first_words_promise_no_controls_and_say_what_metal_is_drawn(read):
    """Of a cracked hole the pictures said nothing, and a page without scripts let nothing move."""
    first = " ".join(read.words).partition("A larger cylinder")[0]
    assert "lets you move" not in first and "in sound metal" in first and "a crack" in first


def test_a_notebook_that_shows_something_else_is_refused():
    other = nbformat.reads(nbformat.writes(notebook()), as_version=4)
    other.cells.append(nbformat.v4.new_code_cell("1"))
    with pytest.raises(ReportError, match="a page cannot show what this cell shows: 1"):
        static.page(other)
    other.cells = other.cells[:3]
    with pytest.raises(ReportError, match="shows 0 sets of controls"):
        static.page(other)


def test_no_paper_has_the_controls_their_heading_or_how_to_use_them():
    at = next(n for n, each in enumerate(notebook().cells) if each.source == "## Move it")
    cells = notebook().cells[at : at + 3]
    assert "widgets.panel" in cells[-1].source
    assert all("no-report" in each.metadata.get("tags", ()) for each in cells)


def test_nothing_is_overwritten_and_nothing_half_written(
    page_without_scripts, tmp_path, capsys, monkeypatch
):
    before = page_without_scripts.read_bytes()
    assert oct(page_without_scripts.stat().st_mode)[-3:] == "644"
    monkeypatch.setattr(static, "page", lambda _: "<html>")
    assert main(["page", str(page_without_scripts)]) == 2
    assert "exists already" in capsys.readouterr().err
    assert page_without_scripts.read_bytes() == before

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.link", full)
    assert main(["page", str(tmp_path / "other.html")]) == 2
    assert "cannot be written: No space left" in capsys.readouterr().err
    assert main(["page", str(tmp_path / "why.txt")]) == 2
    assert "expected a name that ends with .html" in capsys.readouterr().err
    assert [*tmp_path.iterdir()] == []
