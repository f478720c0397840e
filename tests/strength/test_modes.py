"""Failure modes: loads over arrays, and joints an insert does not help."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published.cases import insert_hole, original_hole

from thread_repair.errors import GeometryError, InputError
from thread_repair.strength.modes import MODES, boss_wall_load, capacities, results
from thread_repair.strength.strip import StripInputs

WIRE = {"screw_major": 7.760, "insert_pitch_diameter": 7.348, "wire_shear": 1035 / math.sqrt(3)}


def original(*, flow_stress: Any = 265.0, **changes: Any) -> StripInputs:
    return original_hole(flow_stress=flow_stress, **changes)


def repaired(*, flow_stress: Any = 265.0, **changes: Any) -> StripInputs:
    return insert_hole(flow_stress=flow_stress, **WIRE, **changes)


def assert_same(inputs: StripInputs) -> None:
    loads = capacities(inputs)
    full = {mode: result.capacity for mode, result in results(inputs).items()}
    for mode in MODES:
        expected = np.broadcast_to(full.get(mode, math.inf), inputs.shape)
        np.testing.assert_allclose(getattr(loads, mode), expected, rtol=1e-12, err_msg=mode)


def test_an_array_of_joints_holds_what_each_holds_alone():
    rng = np.random.default_rng(1)
    hole = {
        "length": rng.uniform(0, 20, 40),
        "external_major": rng.uniform(9.4, 9.63, 40),
        "parent_tensile": np.exp(rng.uniform(math.log(90), math.log(1400), 40)),
        "boss_diameter": rng.uniform(14, 24, 40),
    }
    hole["boss_diameter"][::7] = np.nan
    hole["parent_tensile"][::11] = np.nan
    together = capacities(repaired(**hole))
    for i in range(40):
        alone = capacities(repaired(**{name: values[i] for name, values in hole.items()}))
        for mode in MODES:
            assert getattr(together, mode)[i] == pytest.approx(
                getattr(alone, mode), rel=1e-12, nan_ok=True
            )


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
    assert list(results(original())) == list(MODES[:4])
    assert list(results(repaired(boss_diameter=16.0))) == list(MODES)


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
        capacities(insert_hole(screw_major=7.76, insert_pitch_diameter=7.348))
    with pytest.raises(InputError, match="flow_stress must be given where a boss"):
        capacities(original_hole(boss_diameter=16.0))
    with pytest.raises(InputError, match=r"do not broadcast: length \(2,\).* flow_stress \(3,\)"):
        original(length=[1.0, 2.0], flow_stress=[1.0, 2.0, 3.0])
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
