"""Every strip method: shapes, NaN, words, and the properties any of them must have."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published.cases import INSERT, ORIGINAL, insert_hole, original_hole

from thread_repair.errors import InputError
from thread_repair.strength import primary
from thread_repair.strength.methods import METHODS
from thread_repair.strength.strip import StripInputs

ALL = (*METHODS.values(), primary.METHOD)
by_id = pytest.mark.parametrize("entry", ALL, ids=lambda m: m.id)
LENGTHS = ("length", "pitch", "major_basic", "external_major", "external_pitch_diameter",
           "internal_minor", "internal_pitch_diameter", "hole_minor", "hole_major_basic",
           "boss_diameter")  # fmt: skip


def test_registry():
    assert tuple(METHODS) == (
        "fed_std_h28", "sae_770420", "iso_tr_16224", "vdi_2230", "machinerys_handbook",
        "nasa_tm_106943", "nasa_rp_1228",
    )  # fmt: skip
    assert all(name == entry.id for name, entry in METHODS.items())


@by_id
def test_scalars_give_floats(entry):
    result = entry.strip(original_hole(), "parent")
    for value in (result.area, result.stress, result.factor, result.capacity):
        assert isinstance(value, float)
    assert result.capacity == pytest.approx(result.area * result.stress * result.factor)
    assert isinstance(entry.required_length(original_hole(), 30e3), float)


@by_id
def test_broadcasting_is_one_call_per_element(entry):
    lengths, shears = np.array([[6.0], [8.0], [14.0]]), np.array([120.0, 186.2])
    grid = insert_hole(length=lengths, parent_shear=shears, boss_diameter=17.0)
    results = [entry.strip(grid, "parent").capacity]
    if "screw" in entry.threads:
        results.append(entry.strip(grid, "screw").capacity)
    needed = entry.required_length(grid, 30e3)
    for i, j in np.ndindex(3, 2):
        one = insert_hole(length=lengths[i, 0], parent_shear=shears[j], boss_diameter=17.0)
        capacities = [np.broadcast_to(r, (3, 2))[i, j] for r in results]
        assert capacities[0] == pytest.approx(entry.strip(one, "parent").capacity, rel=1e-12)
        if "screw" in entry.threads:
            assert capacities[1] == pytest.approx(entry.strip(one, "screw").capacity, rel=1e-12)
        assert np.broadcast_to(needed, (3, 2))[i, j] == pytest.approx(
            entry.required_length(one, 30e3), rel=1e-12
        )


@by_id
def test_nan_stays_nan(entry):
    result = entry.strip(original_hole(length=[8.0, math.nan]), "parent")
    assert np.isnan(result.capacity).tolist() == [False, True]


@by_id
@pytest.mark.parametrize("hole", [original_hole, insert_hole])
def test_required_length_holds_the_load(entry, hole):
    load = 36.6e3
    length = entry.required_length(hole(), load)
    at = hole(length=length)
    weakest = entry.strip(at, "parent").capacity
    if "screw" in entry.threads:
        weakest = min(weakest, entry.strip(at, "screw").capacity)
    assert weakest == pytest.approx(load, rel=1e-9)


@by_id
def test_every_method_says_where_it_is_from(entry):
    assert entry.references


def test_notes_name_what_is_out_of_range():
    hole = insert_hole(length=16.0, boss_diameter=12.0, parent_tensile=100.0)
    result = METHODS["sae_770420"].strip(hole, "parent")
    assert not result.valid
    assert np.isnan(result.capacity)
    assert [note.id for note in result.notes] == ["engagement_outside_tests", "no_c1", "no_c3"]
    assert [result.notes[0].values[end].value for end in ("low", "high")] == [0.5, 1]
    assert result.notes[1].values["ratio"].value == 1.4
    counted = METHODS["sae_770420"].strip(original_hole(length=[4.0, 8.0, 12.0]), "parent")
    assert counted.valid.tolist() == [True, True, False]
    assert counted.notes[0].id == "engagement_outside_tests"


def test_primary_takes_the_lower_wall_factor_and_the_one_that_is_known():
    thick, thin, tiny = (insert_hole(boss_diameter=s) for s in (30.0, 16.0, 13.0))
    factor = {
        (hole, wall): primary.METHOD.strip(
            dataclasses.replace(hole, wall_factor=wall), "parent"
        ).factors["wall"]
        for hole in (thick, thin, tiny)
        for wall in (0.9, 0.97, math.nan)
    }
    assert factor[thick, 0.9] == 0.9
    assert factor[thin, 0.97] == pytest.approx(0.944, abs=1e-3)
    assert factor[thin, 0.9] == 0.9
    assert factor[tiny, 0.9] == 0.9
    assert factor[thick, math.nan] == 1
    assert math.isnan(factor[tiny, math.nan])
    assert math.isnan(primary.METHOD.strip(tiny, "parent").capacity)


def test_primary_never_credits_a_factor_above_one():
    ratios = np.linspace(0.05, 4, 400)
    for thread in ("parent", "screw"):
        factor = primary.capped_factor(ratios, thread)
        assert (factor <= 1).all()
        assert (factor >= 0.897).all()


def test_screw_length_may_differ_from_the_parents():
    hole = insert_hole(length=10.0, screw_length=7.0)
    assert (
        primary.METHOD.strip(hole, "parent").area
        == primary.METHOD.strip(insert_hole(length=10.0), "parent").area
    )
    assert (
        primary.METHOD.strip(hole, "screw").area
        == primary.METHOD.strip(insert_hole(length=7.0), "screw").area
    )


def test_inputs_are_checked():
    with pytest.raises(InputError, match="unknown state 'new'; expected one of original, repaired"):
        original_hole(state="new")
    with pytest.raises(InputError, match=r"pitch must be above zero, got -1\.25"):
        original_hole(pitch=-1.25)
    with pytest.raises(InputError, match=r"parent_shear must be above zero, got inf at index 1"):
        original_hole(parent_shear=[100.0, math.inf])
    with pytest.raises(InputError, match=r"do not broadcast: .*length \(2,\).*parent_shear"):
        original_hole(length=[8.0, 9.0], parent_shear=[1.0, 2.0, 3.0])
    with pytest.raises(ValueError, match="read-only"):
        original_hole(length=[8.0, 9.0]).length[0] = 1.0


@by_id
@pytest.mark.parametrize("case", [ORIGINAL, INSERT], ids=["original", "repaired"])
@given(
    turns=st.floats(0.8, 2.5),
    stronger=st.floats(1.01, 1.5),
    looser=st.floats(0.001, 0.08),
    boss=st.floats(14.0, 24.0),
)
@settings(max_examples=15, deadline=None)
def test_what_any_strip_load_must_do(entry, case, turns, stronger, looser, boss):
    length = 8 * turns
    base = StripInputs(**(case | {"length": length, "boss_diameter": boss}))

    def load(**changes: float) -> float:
        return entry.strip(
            dataclasses.replace(base, screw_length=None, **changes), "parent"
        ).capacity

    assert load(length=length * 1.1) > load()
    # shear and tensile strength rise together; C3 falls as the parent gains on the screw, so the
    # gain may be smaller but never a loss
    assert (
        load(
            parent_shear=base.parent_shear * stronger, parent_tensile=base.parent_tensile * stronger
        )
        > load()
    )
    assert not load(external_major=base.external_major - looser) > load() * (1 + 1e-12)
    if entry.id != "nasa_rp_1228":  # takes the mean diameter itself, which grows
        wider = load(internal_pitch_diameter=base.internal_pitch_diameter + looser)
        assert not wider > load() * (1 + 1e-12)
    thinner = load(boss_diameter=boss - 0.3)
    assert not thinner > load() * (1 + 1e-12)


@by_id
def test_inches_and_millimetres_give_the_same_load(entry):
    # lengths in inches, stresses in newtons per square inch
    changes = {name: np.asarray(ORIGINAL.get(name, 17.0)) / 25.4 for name in LENGTHS}
    changes |= {
        name: ORIGINAL[name] * 25.4**2
        for name in ("parent_shear", "parent_tensile", "screw_tensile_min", "screw_tensile_max",
                     "screw_shear")
    }  # fmt: skip
    changes["stress_area"] = ORIGINAL["stress_area"] / 25.4**2
    inch, metric = original_hole(**changes), original_hole(boss_diameter=17.0)
    assert entry.strip(inch, "parent").capacity == pytest.approx(
        entry.strip(metric, "parent").capacity
    )
    assert 25.4 * entry.required_length(inch, 30e3) == pytest.approx(
        entry.required_length(metric, 30e3)
    )


def test_the_screws_thread_lies_outside_a_paper_without_a_factor():
    """SAE 770420 gives no C2 above Rs = 2.2: parent of 3000 MPa on a screw of 800, Rs = 5.2."""
    beyond = original_hole(parent_tensile=3000.0)
    for name in ("sae_770420", "vdi_2230"):
        strip = METHODS[name].strip
        assert not strip(beyond, "screw").valid
        assert np.isnan(strip(beyond, "screw").capacity)
        assert strip(original_hole(length=8.0), "screw").valid


def test_the_verdicts_row_says_where_the_paper_has_no_factor():
    """SAE 770420 gives C2 and C3 for Rs of 0.4 to 2.2; here Rs is the parent's strength over 577."""
    tensile = np.array([173.0, 577.0, 1442.0])
    hole = original_hole(length=8.0, parent_tensile=tensile)
    assert hole.strength_ratio == pytest.approx([0.3, 1.0, 2.5], abs=1e-2)
    for thread in ("parent", "screw"):
        assert primary.METHOD.strip(hole, thread).valid.tolist() == [False, True, False]


@pytest.mark.parametrize("name", ["sae_770420", "iso_tr_16224", "vdi_2230"])
def test_a_thin_boss_takes_c1_from_both_threads(name):
    """C1 of a boss of 1.6 diameters: (3.8 - 1.6) 1.6 - 2.61 = 0.91."""
    thin, thick = original_hole(length=8.0, boss_diameter=12.8), original_hole(length=8.0)
    strip = METHODS[name].strip
    for thread in ("parent", "screw"):
        assert strip(thin, thread).capacity == pytest.approx(0.91 * strip(thick, thread).capacity)


def test_a_screw_may_engage_nothing_yet():
    assert original_hole(length=8.0, screw_length=0.0).screw_length == 0
