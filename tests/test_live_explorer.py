"""What the live notebook shows, without a browser: numbers, pictures, controls."""

import dataclasses
import inspect
import io
import math

import numpy as np
import pytest
from PIL import Image

import thread_repair as tr
from thread_repair import case as cases
from thread_repair.errors import InputError, UnknownNameError
from thread_repair.figures import live_canvas, live_collapse, live_section
from thread_repair.joint import evaluate
from thread_repair.teaching import collapse_fields, explorer, pictures, widgets
from thread_repair.teaching.explorer import CHOICES, Controls
from thread_repair.units import number

SOME = (
    Controls(),
    Controls(parent="AZ91D", screw="12.9", boss=1.75, insert_length=1.0, engagement=0.5),
    Controls(thread="M4x0.7", parent="EN-GJL-250", screw="4.8", insert_length=3.0),
    Controls(boss=math.inf, tolerance_position="basic", sliding_coil=True),
)
#: Every control moved to each of its positions from the start.
MOVED = [
    dataclasses.replace(Controls(), **{name: choice})
    for name, choices in CHOICES.items()
    for choice in choices
]


def case(**changes):
    data = {
        "thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "12 mm",
        "insert_length": "1.5 D", "boss_diameter": "24 mm",
    }  # fmt: skip
    return tr.read(data | changes)


@pytest.mark.parametrize("position", SOME)
def test_the_numbers_are_those_of_the_evaluation(position):
    found, whole = explorer.strip(position), evaluate(explorer.joint(position))
    assert found.ratio == pytest.approx(whole.pull_out_ratio, rel=1e-12)
    for name, state in whole.states.items():
        shown = found.state(name)
        assert shown.pull_out == pytest.approx(state.pull_out, rel=1e-12)
        assert shown.engaged == pytest.approx(state.engagement, rel=1e-12)
        assert shown.pull_out_mode == state.pull_out_mode


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"boss_diameter": "14 mm"},
        {"boss_diameter": "", "tolerance_position": "basic"},
        {
            "thread": "M6",
            "parent": "AZ91D",
            "screw": "10.9",
            "engagement": "2 D",
            "boss_diameter": "2 D",
        },
        {"insert_length": "3 D", "engagement": "0.5 D"},
    ],
)
def test_a_position_is_the_joint_that_a_case_would_be(changes):
    mine = evaluate(explorer.joint(explorer.start(case(**changes))))
    whole = evaluate(cases.joint(case(**changes)))
    for state, found in whole.states.items():
        assert mine.states[state].pull_out == pytest.approx(found.pull_out, rel=1e-12)


def test_the_strip_load_is_the_cylinder_by_hand():
    """M8, 6g and 6H at minimum material (ISO 965-1: 7.760, 7.348 mm), 12 mm, 186.16 MPa."""
    area = math.pi * 7.760 * 12 / 1.25 * (0.625 + (7.760 - 7.348) * math.tan(math.pi / 6))
    shown = explorer.strip(Controls(boss=math.inf)).original.pull_out
    assert shown == pytest.approx(186.158 * area, rel=1e-4)


def test_the_crossover_is_where_the_screw_breaks():
    found = explorer.strip(Controls())
    for state in (found.original, found.repaired):
        load = np.interp(state.crossing, found.lengths, state.curve)
        assert load == pytest.approx(found.screw_max, rel=1e-9)


@pytest.mark.parametrize("position", MOVED, ids=str)
def test_every_position_gives_numbers_and_words(position):
    for name in pictures.PICTURES:
        said = pictures.words(name, position)
        assert said.endswith(".") and "nan" not in said
    told = widgets.told(position, "section")
    assert f"ratio {number(explorer.strip(position).ratio)}." in told


def test_the_load_on_the_threads_adds_up_to_the_load():
    for position in SOME:
        for state in ("original", "repaired"):
            assert explorer.section(position, state).loads.sum() == pytest.approx(1, rel=1e-9)


def test_a_sliding_coil_shares_more_evenly_and_changes_no_strip_load():
    stuck, slides = Controls(), Controls(sliding_coil=True)
    first = [explorer.sharing(p, "repaired").first_thread_share for p in (stuck, slides)]
    assert first[1] < first[0]
    assert explorer.strip(stuck).ratio == explorer.strip(slides).ratio
    shares = [explorer.sharing(p, "original").first_thread_share for p in (stuck, slides)]
    assert shares[0] == shares[1]


def test_an_oiled_thread_strips_at_less_torque_than_a_dry_one():
    found = [t for t in explorer.strip_torques(Controls()) if t.state == "original"]
    assert [t.least for t in found] == sorted(t.least for t in found)
    assert all(t.least < t.highest and t.screw_least < t.screw_highest for t in found)


@pytest.mark.parametrize("name", pictures.PICTURES)
@pytest.mark.parametrize("position", SOME[:3], ids=("start", "weak", "iron"))
def test_a_picture_is_an_image_and_follows_from_the_position_alone(name, position):
    first = pictures.image(name, position)
    with Image.open(io.BytesIO(first)) as image:
        image.load()
        assert image.format == "PNG" and image.size[0] == 560
        assert image.convert("L").getextrema()[0] < 60, "nothing dark was drawn"
    for remembered in (explorer.strip, explorer.sharing, explorer.section, explorer.strip_torques,
                       collapse_fields.field, pictures.image, live_canvas._words):  # fmt: skip
        remembered.cache_clear()
    pictures.image(name, Controls(thread="M12x1.75"))  # another position in between
    assert pictures.image(name, position) == first


def test_shades_are_told_apart_without_colour():
    def grey(colour):
        return float(np.asarray(colour) @ (0.299, 0.587, 0.114))

    assert grey(live_section._PALE) - grey(live_section._DARK) > 0.5
    assert grey(live_collapse._STILL) - grey(live_collapse._MOVING) > 0.5
    names = [grey(live_canvas.to_rgb(c)) for c in (live_section._WIRE, live_section._SCREW)]
    assert names[1] - names[0] > 0.3


def test_an_unknown_position_is_refused_in_one_sentence():
    with pytest.raises(UnknownNameError, match="unknown parent '6061-T7'; did you mean '6061-T6'"):
        Controls(parent="6061-T7")
    with pytest.raises(InputError, match=r"engagement: 9.0 is no position; expected one of 0.5,"):
        Controls(engagement=9.0)


def test_controls_start_next_to_the_case():
    assert explorer.start(case()) == Controls()
    far = explorer.start(case(engagement="13.2 mm", boss_diameter="", insert_length="2 D"))
    assert (far.engagement, far.boss, far.insert_length) == (1.625, math.inf, 2.0)
    with pytest.raises(UnknownNameError, match="unknown thread"):
        explorer.start(case(thread="M20"))


def test_the_screen_follows_a_control_and_keeps_nothing_else():
    panel = widgets.panel(case())
    assert [each.description for each in panel.controls.values()] == [*widgets.LABELS.values()]
    for name, value in (("engagement", 2.0), ("parent", "AZ91D"), ("sliding_coil", True)):
        panel.controls[name].value = value
    panel.second.value = "thread-loads"
    at = Controls(engagement=2.0, parent="AZ91D", sliding_coil=True)
    assert panel.position == at
    assert panel.images[0].value == pictures.image("strip-load", at)
    assert panel.images[1].value == pictures.image("thread-loads", at)
    assert panel.words.value == widgets.told(at, "thread-loads")
    other = widgets.panel(case())
    assert other.position == Controls(), "two screens share something"


def test_no_module_keeps_a_global_that_changes():
    for module in (explorer, pictures, widgets, collapse_fields, live_canvas):
        source = inspect.getsource(module)
        assert "global " not in source


@pytest.mark.parametrize(("wall", "state"), [(1.75, "repaired"), (2.0, "repaired")])
def test_a_stored_field_is_the_solution(wall, state):
    """The ratio is unique; a field at collapse need not be, so that it is held to its power."""
    solved = collapse_fields.solve("M8x1.25", wall, state)
    stored = collapse_fields.field("M8x1.25", wall, state)
    assert stored.ratio == pytest.approx(float(solved["ratio"]), rel=2e-3)
    assert stored.corners.shape == stored.motion.shape == solved["motion"].shape


def test_a_thin_wall_spreads_and_more_so_in_the_repaired_hole():
    for thread in explorer.THREADS:
        ratios = {
            state: [
                collapse_fields.field(thread, wall, state).ratio for wall in collapse_fields.WALLS
            ]
            for state in ("original", "repaired")
        }
        assert ratios["repaired"][0] < ratios["original"][0] - 0.1
        for state, found in ratios.items():
            assert np.all(np.diff(found) > -1e-4) and found[-1] == pytest.approx(1, abs=1e-3)
            thick = collapse_fields.field(thread, math.inf, state)
            assert np.abs(thick.motion[..., 1]).max() < 0.02
        thin = collapse_fields.field(thread, 1.75, "repaired")
        assert np.abs(thin.motion[..., 1]).max() > 0.5


def test_the_solution_shown_is_never_that_of_a_wider_boss():
    for boss in explorer.BOSSES:
        assert collapse_fields.wall_solved(boss) <= boss
