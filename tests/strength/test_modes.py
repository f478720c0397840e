"""Failure modes: the fast evaluation equals the full one, and joints an insert does not help."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published.cases import insert_hole, original_hole

from thread_repair.errors import GeometryError, InputError
from thread_repair.strength import capacities as fast
from thread_repair.strength.capacities import capacities
from thread_repair.strength.modes import MODES, ModeInputs, boss_wall_load, results
from thread_repair.strength.strip import StripInputs

WIRE = {"screw_major": 7.760, "insert_pitch_diameter": 7.348, "wire_shear": 1035 / math.sqrt(3)}


def original(*, flow_stress: Any = 265.0, **changes: Any) -> ModeInputs:
    return ModeInputs(hole=original_hole(**changes), flow_stress=flow_stress)


def repaired(*, flow_stress: Any = 265.0, **changes: Any) -> ModeInputs:
    return ModeInputs(hole=insert_hole(**changes), flow_stress=flow_stress, **WIRE)


def assert_same(inputs: ModeInputs) -> None:
    loads = capacities(inputs)
    full = {result.mode: result.capacity for result in results(inputs)}
    for mode in MODES:
        expected = np.broadcast_to(full.get(mode, math.inf), inputs.shape)
        np.testing.assert_allclose(getattr(loads, mode), expected, rtol=1e-12, err_msg=mode)


def random_joints(count: int, seed: int = 1, *, shared: frozenset[str] = frozenset()) -> ModeInputs:
    """Joints over the whole range of strength ratios and walls, with NaN here and there."""
    rng = np.random.default_rng(seed)

    def draw(low: float, high: float) -> np.ndarray:
        return rng.uniform(low, high, count)

    hole = {
        "length": draw(0, 20),
        "screw_length": draw(0, 20),
        "pitch": draw(1.2, 1.3),
        "major_basic": np.full(count, 8.0),
        "external_major": draw(9.4, 9.63),
        "external_pitch_diameter": draw(7.04, 7.16),
        "internal_minor": draw(6.65, 6.91),
        "internal_pitch_diameter": draw(8.81, 8.94),
        "hole_minor": np.full(count, 8.271),
        "hole_major_basic": draw(9.6, 9.65),
        "parent_shear": draw(60, 500),
        "parent_tensile": np.exp(draw(math.log(90), math.log(1400))),
        "screw_tensile_min": draw(400, 1220),
        "screw_tensile_max": draw(1220, 1435),
        "screw_shear": draw(240, 730),
        "stress_area": draw(36, 37),
        "boss_diameter": draw(10, 24),
        "tan_half_angle": draw(0.52, 0.58),
    }
    hole["boss_diameter"][::7] = np.nan
    hole["parent_tensile"][::11] = np.nan
    hole["length"][::13] = np.nan
    more = {
        "screw_major": draw(7.76, 7.97),
        "insert_pitch_diameter": draw(7.19, 7.35),
        "wire_shear": draw(550, 650),
        "flow_stress": draw(150, 400),
        "wall_factor": draw(0.5, 1.2),
        "boss_wall_factor": draw(0.9, 1.2),
    }
    more["wall_factor"][::3] = np.nan
    for values in (hole, more):
        for name in shared & values.keys():
            values[name] = values[name][2]
    return ModeInputs(hole=StripInputs(state="repaired", **hole), **more)


def test_fast_equals_full_over_arrays(monkeypatch):
    monkeypatch.setattr(fast, "CHUNK", 64)  # a last chunk that is not full
    assert_same(random_joints(1000))


@pytest.mark.parametrize(
    "shared",
    [
        {"pitch", "tan_half_angle"},
        {"boss_diameter", "hole_major_basic", "wall_factor"},
        {"boss_diameter", "hole_major_basic", "boss_wall_factor", "flow_stress"},
        {"tan_half_angle", "wall_factor"},
        {"external_major", "internal_pitch_diameter", "pitch", "tan_half_angle"},
        {"stress_area", "screw_tensile_min", "screw_tensile_max"},
    ],
)
def test_fast_equals_full_with_shared_numbers(shared):
    assert_same(random_joints(300, shared=frozenset(shared)))


@pytest.mark.parametrize("tensile", [100.0, 400.0, 900.0, 1300.0, 3000.0])
def test_fast_equals_full_at_one_strength_ratio(tensile):
    # all joints on one branch of the bending factors
    assert_same(repaired(length=[8.0, 12.0], parent_tensile=tensile))


def test_fast_equals_full_where_the_factors_turn():
    ratio_one = 800 * 97.29 / 134.63
    assert_same(original(parent_tensile=ratio_one * np.linspace(0.39, 2.3, 400)))


def test_scalars_and_grids():
    assert_same(original())
    assert isinstance(capacities(original()).parent_thread_strip, float)
    grid = repaired(length=[[6.0], [8.0], [12.0]], parent_shear=[120.0, 186.2], boss_diameter=16.0)
    assert_same(grid)
    loads = capacities(grid)
    for mode in MODES:
        assert getattr(loads, mode).shape == (3, 2)


def test_what_does_not_exist_cannot_govern():
    loads = capacities(original())
    assert loads.insert_thread_strip == loads.boss_wall == math.inf
    assert [r.mode for r in results(original())] == list(MODES[:3])
    assert [r.mode for r in results(repaired(boss_diameter=16.0))] == list(MODES)


def test_governing_mode():
    lengths = original(length=[8.0, 16.0], boss_diameter=30.0)
    loads = capacities(lengths)
    assert loads.governing.tolist() == ["parent_thread_strip", "screw_tension"]
    assert loads.screw_breaks_first.tolist() == [False, True]
    assert loads.strength == pytest.approx([25068, 29287], abs=5)
    assert loads.pull_out == pytest.approx(loads.parent_thread_strip)


def test_an_unknown_mode_leaves_the_strength_unknown():
    loads = capacities(repaired(boss_diameter=13.0))  # below the range of C1
    assert math.isnan(loads.parent_thread_strip)
    assert math.isnan(loads.pull_out)
    assert math.isnan(loads.strength)
    assert loads.governing == "unknown"
    assert not loads.screw_breaks_first


def test_the_insert_does_not_win_in_a_thin_boss():
    # 14 mm: C1 takes a fifth of the repaired thread's strength, and the wall left is the smaller
    before, after = (capacities(f(boss_diameter=14.0, length=16.0)) for f in (original, repaired))
    assert after.governing == "boss_wall"
    assert after.boss_wall < before.boss_wall
    assert after.strength < before.strength


def test_the_insert_does_not_win_with_a_shorter_fitted_length():
    before = capacities(original(length=12.0)).parent_thread_strip
    after = capacities(repaired(length=12.0 * 0.6)).parent_thread_strip
    assert after < before


def test_the_insert_does_not_win_where_the_screw_thread_governs():
    # a parent stronger than the screw
    strong = {"parent_shear": 700.0, "parent_tensile": 1200.0, "length": 4.0}
    before, after = capacities(original(**strong)), capacities(repaired(**strong))
    assert before.governing == after.governing == "screw_thread_strip"
    assert after.strength <= before.strength * 1.001


def test_boss_wall_sections():
    net = math.pi / 4 * (14**2 - 8**2) * 265
    assert boss_wall_load(14, 8, 8, 265, 0.57735) == pytest.approx(net)
    assert boss_wall_load(14, 8, 16, 265, 0.57735) == pytest.approx(net)
    hoop = math.pi * 6 * 2 * 265 / 0.57735  # a short engagement is wedged apart
    assert boss_wall_load(14, 8, 2, 265, 0.57735) == pytest.approx(hoop)
    assert boss_wall_load(math.nan, 8, 2, 265, 0.57735) == math.inf


def test_refusals():
    with pytest.raises(InputError, match="wire_shear must be given for the state repaired"):
        ModeInputs(hole=insert_hole(), screw_major=7.76, insert_pitch_diameter=7.348)
    with pytest.raises(InputError, match="flow_stress must be given where a boss"):
        ModeInputs(hole=original_hole(boss_diameter=16.0))
    with pytest.raises(InputError, match="do not broadcast with the hole's shape"):
        ModeInputs(hole=original_hole(length=[1.0, 2.0]), flow_stress=[1.0, 2.0, 3.0])
    small = original(boss_diameter=[16.0, 7.5, math.nan])
    for evaluate in (capacities, results):
        with pytest.raises(GeometryError, match="must exceed the hole's major diameter"):
            evaluate(small)
    apart = original(external_major=[7.76, 6.0], length=[8.0, math.nan])
    with pytest.raises(GeometryError, match=r"screw_major 6 mm .*at index 1: the threads do not"):
        capacities(apart)


@given(st.floats(1.5, 3.0), st.floats(0.01, 0.4), st.sampled_from([original, repaired]))
@settings(max_examples=25, deadline=None)
def test_a_thinner_boss_never_helps(ratio, less, state):
    bosses = np.array([ratio, ratio - less]) * 9.624
    loads = capacities(state(boss_diameter=np.maximum(bosses, 1.41 * 9.624)))
    for mode in ("screw_thread_strip", "parent_thread_strip", "boss_wall"):
        thick, thin = getattr(loads, mode)
        assert thin <= thick * (1 + 1e-12)
