"""The figures of the design review: to scale, nothing outside, no label on another."""

import functools
import math
import re
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from drawn import assert_clear, texts
from matplotlib.patches import StepPatch

import thread_repair as tr
from thread_repair import case as cases
from thread_repair.figures.certainty import wall_factor_by_boss
from thread_repair.figures.cut import CutHole, CutSheet
from thread_repair.figures.section import section
from thread_repair.figures.strip_load import all_parents
from thread_repair.joint.wall import certified_wall_factor
from thread_repair.report.blocks import chance, comparison, conclusion, review
from thread_repair.study.plots import hole_sections

NEEDED = {
    "thread": "M8x1.25",
    "screw": "8.8",
    "parent": "6061-T6",
    "engagement": "1.5 D",
    "insert_length": "1.5 D",
}
CASES = {
    "m8": {
        "hole_kind": "blind", "hole_depth": "26 mm", "screw_reach": "16 mm",
        "boss_diameter": "24 mm", "edge_distance": "20 mm",
    },
    "m3 fine": {
        "thread": "M3x0.35", "parent": "AZ91D", "screw": "A2-70", "boss_diameter": "8 mm",
        "edge_distance": "3.5 mm", "hole_kind": "blind", "hole_depth": "12 mm",
    },
    "m24": {
        "thread": "M24", "engagement": "2 D", "insert_length": "2 D", "hole_kind": "blind",
        "hole_depth": "75 mm", "screw_reach": "52 mm",
    },
    "unc": {
        "thread": "1/4-20 UNC", "screw": "J429-8", "report_units": "inch",
        "hole_depth": "0.6 in", "boss_diameter": "0.75 in", "edge_distance": "0.3 in",
    },
    "bsf": {
        "thread": "3/8 BSF", "engagement": "1 D", "insert_length": "1 D", "report_units": "inch",
        "boss_diameter": "3 in",
    },
    "short screw": {"engagement": "2 D", "insert_length": "1 D", "screw_reach": "9 mm"},
    "long insert": {"insert_length": "3 D", "screw_reach": "30 mm"},
}  # fmt: skip


@functools.cache
def studied(name):
    return tr.study(cases.read({**NEEDED, **CASES[name]}))


@pytest.mark.parametrize("name", CASES)
def test_section_labels_stay_inside_and_apart(name):
    assert_clear(comparison.section_figure(studied(name)).figure)


@pytest.mark.parametrize("name", CASES)
def test_section_artists_stay_on_the_sheet(name):
    drawing = comparison.section_figure(studied(name)).figure
    (axes,) = drawing.axes
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    for artist in (*axes.patches, *axes.lines):
        points = artist.get_xy() if hasattr(artist, "get_xy") else artist.get_xydata()
        assert points[:, 0].min() >= left and points[:, 0].max() <= right
        assert points[:, 1].min() >= top and points[:, 1].max() <= bottom


def test_section_is_to_scale():
    """One millimetre of paper is one unit; the shear cylinders stand at their diameters."""
    study = studied("m8")
    drawing = comparison.section_figure(study).figure
    (axes,) = drawing.axes
    size = drawing.get_size_inches() * 25.4
    assert axes.get_xlim() == pytest.approx((0, size[0]))
    assert axes.get_ylim() == pytest.approx((size[1], 0))
    (note,) = (t for t, _ in texts(drawing) if t.startswith("scale"))
    scale = float(note.split()[1])
    dashed = [line for line in axes.lines if line.get_color() == "#b00020"]
    ends = np.array([[line.get_xdata()[0], *line.get_ydata()] for line in dashed])
    for (left, right), state in zip(
        ((ends[0], ends[1]), (ends[2], ends[3])), study.evaluation.states.values(), strict=True
    ):
        assert right[0] - left[0] == pytest.approx(state.sizes.crest * scale)
        assert left[2] - left[1] == pytest.approx(state.engagement * scale)


def test_an_outline_holds_its_bends_alone():
    """All its points made the figure four times as large in every document."""
    (original, _), drawn = hole_sections(studied("m8")), []
    sheet = CutSheet(SimpleNamespace(add_artist=drawn.append), 0.0, 0.0, 1.0, turned=False)
    depth = np.linspace(-5, 14, 2400)
    sheet.between(depth, original.screw(depth, 0.0), 0 * depth)
    radius, along = drawn[0].get_xy()[:-1].T
    half = len(along) // 2
    assert half < 200
    got = np.interp(depth, along[:half], radius[:half])
    assert got == pytest.approx(original.screw(depth, 0.0), rel=1e-9)


def test_section_shows_what_the_case_says():
    study = studied("m8")
    original, repaired = hole_sections(study)
    assert isinstance(original, CutHole)
    assert repaired.drilled == 26
    assert repaired.full_thread == pytest.approx(12 + 1.25)
    assert repaired.coil == pytest.approx((1.5 * 1.25, 1.5 * 1.25 + 12 - 0.75 * 1.25))
    shown = [t for t, _ in texts(section((original, repaired)).figure)]
    for words in ("drilled 26 mm", "full thread 12 mm", "coil from 1.88 mm", "boss Ø 24 mm"):
        assert words in shown


def test_the_least_full_thread_is_not_drawn_shorter_than_the_sheet_asks():
    """21.004 mm: 'at least 21 mm' stood beside the sheet's 21.01 mm."""
    inch = CASES["m8"] | {"thread": "1/2-13 UNC", "screw": "J429-8", "hole_depth": "38 mm"}
    study = tr.study(cases.read({**NEEDED, **inch}))
    (original, repaired) = hole_sections(study)
    assert repaired.full_thread == pytest.approx(21.00385, abs=1e-5)
    shown = [t for t, _ in texts(section((original, repaired)).figure)]
    assert "full thread ≥ 21.01 mm" in shown


@pytest.mark.parametrize("name", ["m8", "m3 fine", "m24", "unc"])
def test_the_other_figures_are_clear(name):
    study = studied(name)
    assert_clear(review.spread_figure(study).figure)
    assert_clear(review.sharing_figure(study).figure)
    assert_clear(review.load_slip_figure(study).figure)


def test_distributions_of_loads_are_told_apart_without_colours_and_named_off_the_curves():
    near = {"thread": "10-32 UNF", "screw": "180-ksi", "parent": "7075-T651", "samples": "512",
            "insert_length": "3 D", "design_load": "1900 lbf", "load_factor": "1.4"}  # fmt: skip
    study = tr.study(cases.read({**NEEDED, **near}))
    drawing = chance.distributions_figure(study).figure
    [axes] = drawing.axes
    named = {"screw 180-ksi fails", "original thread strips", "repaired thread strips"}
    assert named | {"ultimate design load, 11.8 kN"} <= assert_clear(drawing)
    assert len({(each.get_hatch(), each.get_linestyle()) for each in axes.patches}) == 3
    assert {each.get_label() for each in axes.patches} == named and not axes.texts
    assert axes.get_legend() is None  # it stands below the axes
    assert axes.yaxis.get_major_formatter()(0.25) == "25"
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("load, kN", "joints, % per kN")
    alone = chance.distributions_figure(
        tr.study(cases.read({**NEEDED, **near, "load_factor": "1"}))
    )
    assert "limit load, 8.45 kN" in {text for text, _ in texts(alone.figure)}
    sampled = study.chances.simulation
    for loads, each in zip((sampled.screw, *sampled.strip.values()), axes.patches, strict=True):
        x, y = each.get_xy().T
        assert (x.min(), x.max()) == pytest.approx((loads.min() / 1e3, loads.max() / 1e3))
        assert abs(np.trapezoid(y, x)) == pytest.approx(1)


def test_the_spread_names_the_method_that_gives_each_end():
    """The wall of a thin boss lowers the reference method below all others, none of them its own."""
    thin = {"thread": "M5", "parent": "ADC12", "engagement": "8 mm", "boss_diameter": "8.4 mm"}
    told = review.spread_passage(tr.study(cases.read({**NEEDED, **thin}))).data.replace("\\", "")
    ends = re.findall(
        r"([\d.]+) kN \(reference method\) to ([\d.]+) kN.*?factor of ([\d.]+\d)", told
    )
    assert len(ends) == 2
    for least, most, factor in ends:
        assert float(factor) == pytest.approx(float(most) / float(least), abs=0.06)


@pytest.mark.parametrize("metals", ["wrought aluminium", "cast aluminium", "others"])
def test_all_parents_are_drawn(metals):
    study = studied("m8")
    shown = assert_clear(review.all_parents_figure(study, metals).figure)
    assert ("6061-T6" in shown) == (metals == "wrought aluminium")


def test_one_sentence_before_the_first_figure_of_parents_says_what_each_shows(monkeypatch):
    """Also where a kind of metal has no strength, whose figure is not there to be named."""
    shown = []
    monkeypatch.setattr(review, "display", lambda *some: shown.extend(some))
    review.all_parents_figures(studied("m8"))
    labels = ["parents-wrought", "parents-cast", "parents-others"]
    assert [each.label for each in shown] == labels and not shown[1].lead and not shown[2].lead
    assert re.findall(r"@fig:([\w-]+) shows \w+", shown[0].lead) == labels
    assert shown[0].lead.count(".") == 1
    shown.clear()
    hot = {"parent_shear_strength": "90 MPa", "parent_tensile_strength": "150 MPa",
           "parent_source": "test report", "parent_strength_temperature": "205 degC",
           "temperature": "205 degC"}  # fmt: skip
    review.all_parents_figures(tr.study(cases.read({**NEEDED, **hot})))
    drawn = [each for each in shown if hasattr(each, "label")]
    assert [each.lead.count("@fig:") for each in drawn] == [2, 0] and len(shown) == 3


def test_no_heading_stands_at_the_foot_of_a_column():
    for numbers, told in (((3, 4), ("a", "b")), ((5, 2), ("a", "a, continued"))):
        groups = [
            group for group, number_ in zip("ab", numbers, strict=True) for _ in range(number_)
        ]
        rows = pd.DataFrame({"group": groups, "original": 1e4, "repaired": 2e4},
                            index=[f"parent {at}" for at in range(7)])  # fmt: skip
        drawing = all_parents(rows, studied("m8"))
        heads = [[t.get_text() for t in axes.texts if t.get_weight() == "bold"]
                 for axes in drawing.axes]  # fmt: skip
        assert tuple(each[0] for each in heads) == told


def test_the_factors_of_the_ratio_end_at_it():
    study = studied("short screw")
    *parts, product = (float(row[1]) for row in comparison.effects_table(study).rows)
    assert product == pytest.approx(study.evaluation.pull_out_ratio, rel=5e-3)
    assert math.prod(parts) == pytest.approx(product, rel=0.01) and 1.0 not in (parts[0], product)


@pytest.mark.parametrize(
    ("name", "load", "torque"), [("m8", "9 kN", "17 N·m"), ("m24", "9 kN", "17 N·m"),
                                 ("bsf", "800 lbf", "60 in·lbf")]
)  # fmt: skip
def test_margins_are_clear(name, load, torque):
    """Also where they lie close together, as with a small load or torque on a large screw."""
    loads = {"design_load": load, "load_factor": "1.5", "load_factor_source": "invented",
             "torque": torque, "friction": "0.10 to 0.14"}  # fmt: skip
    plot = tr.study(cases.read({**NEEDED, **CASES[name], **loads})).plot
    assert_clear(plot.margins().figure)


@pytest.mark.parametrize("parent", ["EN-GJL-250", "AZ91D", "6061-T6"])
def test_the_bands_of_a_boss_pass_through_the_factor_that_the_load_is_reduced_by(parent):
    """A wall weaker than its thread (grey iron: a third of it) lets go in a wider boss."""
    given = {"parent": parent, "boss_diameter": 19, "boss_support": "base"}
    study = tr.study(cases.read({**NEEDED, **CASES["m8"], **given}))
    for axes, state in zip(study.plot.wall(), study.evaluation.states.values(), strict=True):
        mode = state.mode("parent_thread_strip")
        used = dict(mode.factors)["wall"]
        outline = axes.collections[0].get_paths()[0].vertices  # held at its base, as the case
        at = sorted({*outline[:, 0]})
        low, high = (
            np.interp(19, at, [end(outline[outline[:, 0] == x][:, 1]) for x in at])
            for end in (min, max)
        )
        assert low == pytest.approx(used, abs=0.01)
        hole = (study.evaluation.joint, state.state, state.sizes.hole_major, state.engagement)
        most = certified_wall_factor(*hole, bound="upper")
        assert high == pytest.approx(float(most), abs=0.01) and (high > low or used == 1)


def test_the_bands_of_a_boss_are_told_apart_without_colours():
    """Hatching in the colour of its band is not seen."""
    axes = wall_factor_by_boss({"original": (8.0, 1.5)}, joint=None)[0]
    hatched, plain = sorted(axes.collections, key=lambda band: band.get_hatch() == "")
    assert hatched.get_hatch() and not plain.get_hatch()
    face, lines = (rgb[0][:3].mean() for rgb in (hatched.get_facecolor(), hatched.get_edgecolor()))
    assert face - lines > 0.2


@pytest.mark.parametrize("boss", [12, 34])
def test_the_legend_of_the_wall_lies_on_no_line(boss):
    given = {"parent": "6061-T6", "boss_diameter": boss, "edge_distance": 40}
    study = tr.study(cases.read({**NEEDED, **CASES["m8"], **given}))
    figure = study.plot.wall()[0].figure
    figure.draw_without_rendering()
    (legend,) = (*figure.legends, *(x.get_legend() for x in figure.axes if x.get_legend()))
    for axes in figure.axes:
        assert not legend.get_window_extent().overlaps(axes.get_window_extent())


def test_the_repair_is_not_called_certain_in_a_boss_in_which_its_parent_thread_is_the_weaker():
    given = {"parent": "EN-GJL-250", "boss_diameter": 20, "boss_support": "base"}
    study = tr.study(cases.read({**NEEDED, **CASES["m8"], **given}))
    original, repaired = (
        each.mode("parent_thread_strip").capacity for each in study.evaluation.states.values()
    )
    assert repaired < original
    base = review.smallest_boss(study).data.splitlines()[0].replace("\\", "")
    certain = [float(each) for each in re.findall(r"from ([\d.]+) mm on", base)]
    assert all(each > 20 for each in certain), base


def crossed(axes, words):
    """What of a picture runs through the box of words that hold such a text."""
    drawing = axes.figure
    boxes = [box.padded(1) for text, box in texts(drawing) if words in text]
    curves = [line for line in axes.lines if len(line.get_xdata()) > 2]
    steps = [each for each in axes.patches if isinstance(each, StepPatch)]
    assert boxes and (curves or steps)
    return [
        each
        for each in (*curves, *steps)
        for box in boxes
        if each.get_path().transformed(each.get_transform()).intersects_bbox(box, filled=False)
    ]


GREY_IRON = {
    "thread": "1-8 UNC", "parent": "EN-GJL-250", "screw": "J429-5", "engagement": "1.25 in",
    "insert_length": "1.5 D", "hole_kind": "blind", "hole_depth": "3 in", "screw_reach": "1.75 in",
    "boss_diameter": "2.5 in", "boss_support": "base", "edge_distance": "1.8 in",
    "report_units": "inch",
}  # fmt: skip


CLOSE = {"thread": "M10", "screw": "10.9", "engagement": "15 mm", "boss_diameter": "40 mm",
         "hole_kind": "through", "hole_depth": "", "screw_reach": "", "design_load": "6 kN"}  # fmt: skip


@pytest.mark.parametrize("given", [
    GREY_IRON,  # the load of the original hole ends a little above the screw's
    {**CLOSE, "parent": "6082-T6"},
    {**CLOSE, "parent": "6082-T6", "insert_length": "2.5 D"},
    {**CLOSE, "parent": "AZ91D"},
    {**CLOSE, "parent": "EN-GJL-250", "engagement": "10 mm"},
], ids=["ends above", "close", "apart", "below", "wide"])  # fmt: skip
def test_no_curve_runs_through_the_words_on_screw_and_threads(given):
    study = tr.study(cases.read({**NEEDED, **given}))
    assert crossed(study.plot.strip_load(), "fails,") == []


def test_no_step_runs_through_the_even_share():
    """In a part held at its base the last threads carry more than those between."""
    study = tr.study(cases.read({
        **NEEDED, "thread": "M3", "parent": "AZ91D", "engagement": "2 D", "insert_length": "3 D",
        "hole_kind": "blind", "hole_depth": "14 mm", "screw_reach": "9 mm", "boss_diameter": "9 mm",
        "boss_support": "base",
    }))  # fmt: skip
    for axes in review.sharing_figure(study).figure.axes:
        assert crossed(axes, "even share") == []


#: SAE 770420 and two others have a value for the insert hole of this joint, none for the original.
HALF = {"thread": "M8", "screw": "A2-70", "parent": "AZ91C-T6-sand", "engagement": "2 D",
        "insert_length": "2 D", "parent_shear_strength": "105 MPa",
        "parent_tensile_strength": "180 MPa", "parent_yield_strength": "80 MPa",
        "parent_source": "test report TR-12", "parent_strength_basis": "minimum"}  # fmt: skip


def test_the_methods_span_the_same_loads_in_every_sentence():
    """35.0 kN of a method without a value for the original hole, against 32.2 kN on page 1."""
    study = tr.study(cases.read({**NEEDED, **HALF}))
    half = [each for each in study.methods if np.isnan(each.original) and each.repaired > 0]
    known = [each.repaired for each in study.methods if each.comparable]
    assert half and max(each.repaired for each in half) > max(known)
    (asked,) = (x for x in conclusion._decisions(study) if x.id == "decide_method")
    assert asked.values["highest"].value == max(known)
    said = review.spread_passage(study).data.replace("\\", "")
    assert f"{max(known) / 1000:.1f} kN" in said
    assert not any(f"{each.repaired / 1000:.1f} kN" in said for each in half)
    # the cell beside a value does not say that there is none
    cells = {row[0]: row[-1] for row in comparison.methods_table(study).rows}
    for each in half:
        assert (
            cells[each.title].startswith("original: No value")
            and "; repaired: " in cells[each.title]
        )


def test_a_reason_that_methods_share_is_told_once_below_the_required_lengths():
    study = tr.study(cases.read({**NEEDED, **HALF}))
    caption = review.required_table(study).caption
    assert caption.count("No value") == 1 and "SAE 770420, ISO/TR 16224, VDI 2230-1:" in caption


def test_what_sources_say_of_another_metal_is_left_out():
    def issues(parent):
        study = tr.study(cases.read({**NEEDED, "parent": parent}))
        cited = {each.what for each in review.references(study)}
        return {row[0] for row in review.disagreements_table(study).rows}, cited

    aluminium, ratio = "Tensile strength of 6061-T6", "Shear over tensile strength of aluminium"
    for parent, told in (
        ("6061-T6", {aluminium, ratio}), ("EN-AC-46000", {ratio}), ("EN-GJL-250", set())
    ):  # fmt: skip
        found, cited = issues(parent)
        assert found & {aluminium, ratio} == told and "Set-down of the insert" in found
        assert ("tensile strength of 6061-T6" in cited) == (aluminium in told)
