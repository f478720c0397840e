"""A study in a notebook or at a prompt: its page, its pictures."""

import re
from pathlib import Path

import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

import thread_repair as tr
from thread_repair import words
from thread_repair.errors import InputError
from thread_repair.study.shown import criterion_row

GIVEN = {
    "thread": "M8x1.25", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
    "insert_length": "1.5 D", "boss_diameter": "24 mm", "design_load": "9 kN",
    "load_factor": "1.5", "torque": "17 N·m", "friction": "0.10 to 0.14",
}  # fmt: skip
BARE = {key: GIVEN[key] for key in ("thread", "screw", "parent", "engagement", "insert_length")}
PANELS = {"sharing": 2, "wall": 2}


@pytest.fixture(scope="module")
def study():
    return tr.study(tr.read(GIVEN))


def names():
    return [name for name in dir(tr.study(tr.read(BARE)).plot) if not name.startswith("_")]


def test_the_page_has_the_conclusion_and_every_criterion(study):
    page = study._repr_html_()
    assert page.count("<tr>") == 1 + len(study.criteria)
    heads = ["No.", "Criterion", "Required", "Repaired", "Original", "Met"]
    assert re.findall("<th [^>]*>([^<]*)", page) == heads
    text = re.sub("<[^>]+>", "", page)
    for fact in study.statements:
        assert words.sentence(fact) in text
    assert "competent person" in text


def test_the_page_is_in_the_units_of_the_report():
    assert "lbf" in tr.study(tr.read({**GIVEN, "report_units": "inch"}))._repr_html_()


@pytest.mark.parametrize("printer", ["sentence", "filled"])
def test_the_page_runs_nothing_that_somebody_typed(study, monkeypatch, printer):
    monkeypatch.setattr(words, printer, lambda *_, **__: "<script>alert(1)</script> & <b>")
    page = study._repr_html_()
    assert "&lt;script&gt;" in page
    assert set(re.findall(r"</?(\w+)", page)) <= {"p", "strong", "table", "thead", "tbody", "tr",
                                                 "th", "td"}  # fmt: skip


@pytest.mark.parametrize("name", names())
def test_every_picture_draws_in_axes_of_its_own_or_given(study, name):
    count = PANELS.get(name, 1)
    draw = getattr(study.plot, name)
    own = draw()
    figure = Figure(figsize=(7, 4), layout="constrained")
    made = figure.subplots(1, count, squeeze=False)[0]
    given = draw(made if count > 1 else made[0])
    for one, other in zip(*([each] if count == 1 else each for each in (own, given)), strict=True):
        assert isinstance(one, Axes) and one.figure is not figure and other.figure is figure
        assert other.get_xlabel() == one.get_xlabel()
        assert len(other.lines) + len(other.patches) == len(one.lines) + len(one.patches) > 0
    FigureCanvasAgg(figure).draw()
    assert name in repr(study.plot)


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize(
    "given", ["x", Figure(), Figure().subplots(1, 3)], ids=["text", "figure", "three"]
)
def test_a_picture_is_drawn_in_axes_alone(study, name, given):
    """What subplots(1, 3) returns met an AttributeError."""
    with pytest.raises(InputError, match=f"ax must hold {PANELS.get(name, 1)} axes"):
        getattr(study.plot, name)(given)


def test_pictures_are_in_the_units_of_the_report():
    plot = tr.study(tr.read({**GIVEN, "report_units": "inch"})).plot
    assert "lbf" in plot.strip_load().get_ylabel()
    assert "in" in plot.wall()[0].get_xlabel()


def test_a_picture_of_nothing_says_what_is_missing():
    plot = tr.study(tr.read(BARE)).plot
    with pytest.raises(InputError, match="the case states"):
        plot.margins()
    iron = tr.study(tr.read({**BARE, "parent": "EN-GJL-250"}))
    with pytest.raises(InputError, match=r"load_slip: none.*not assessed"):
        iron.plot.load_slip()
    with pytest.raises(InputError, match="2 axes"):
        plot.sharing([Figure().add_subplot()])


@pytest.mark.parametrize("job", ["plate-in-inches", "magnesium-housing", "old-casting"])
def test_no_name_in_the_picture_of_lengths_lies_over_another_or_the_frame(job):
    """Curves that end together, a screw above both curves, a length at the edge."""
    axes = tr.study(tr.load(Path(__file__).parents[1] / "jobs" / job)).plot.strip_load()
    FigureCanvasAgg(axes.figure).draw()
    names = {each.get_text(): each.get_window_extent() for each in axes.texts}
    ends = [names[f"{state} thread"] for state in ("original", "repaired")]
    assert not ends[0].overlaps(ends[1])
    (top,) = (box for text, box in names.items() if "fails," in text)
    assert top.y1 < axes.get_window_extent().y1


def test_an_edge_a_hair_too_near_does_not_print_as_near_enough():
    near = tr.study(tr.read({**BARE, "edge_distance": "14.4 mm"}))
    criterion = next(each for each in near.criteria if each.id == "edge_distance")
    assert criterion.refuses and criterion_row(criterion, "SI")[2] == "1.496"
