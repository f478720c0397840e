"""The boss wall factor: the table, its interpolation, and what it says of C1 and of repairs."""

import csv
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thread_repair import case, tables
from thread_repair.errors import UnknownNameError
from thread_repair.joint.wall import certified_wall_factor
from thread_repair.strength.collapse.bounds import boss_bounds
from thread_repair.strength.collapse.wall_factor import (
    smallest_boss_not_weaker,
    wall_coefficient,
    wall_factor,
)
from thread_repair.strength.methods.factored import dilation_factor
from thread_repair.tables import all_sources

ROWS = tables.rows("boss_wall_factor.csv")


def numbers(row):
    return (float(row[c]) for c in ("engagement_over_major", "boss_over_major", "lower", "upper"))


def test_table_is_complete_ordered_and_sourced():
    keys = {
        (r["state"], r["support"], r["engagement_over_major"], r["boss_over_major"]) for r in ROWS
    }
    assert len(keys) == len(ROWS) == 2 * 2 * 7 * 12
    for row in ROWS:
        _, _, lower, upper = numbers(row)
        assert 0 < lower < upper < 1.0002
        assert row["source"] in all_sources()
        assert row["how_known"] == "derived"


def test_factor_at_a_row_is_the_row():
    for row in ROWS:
        engagement, boss, lower, upper = numbers(row)
        for bound, value in (("lower", lower), ("upper", upper)):
            found = wall_factor(
                boss, row["support"], row["state"], engagement_over_major=engagement, bound=bound
            )
            # Two neighbouring upper bounds may each be loose, and the lesser one decides.
            assert found == pytest.approx(value, rel=1e-9 if bound == "lower" else 0.01)


inside_boss, inside_length = st.floats(1.2, 3.0), st.floats(0.5, 3.0)


@settings(max_examples=60, deadline=None)
@given(inside_boss, inside_boss, inside_length, st.sampled_from(["base", "face"]))
def test_a_thinner_boss_never_helps(one, other, engagement, support):
    thin, thick = sorted((one, other))
    factor = [
        wall_factor(b, support, "repaired", engagement_over_major=engagement) for b in (thin, thick)
    ]
    # Rows differ by what their meshes leave open, a gap of a few per cent where the wall is thick.
    assert factor[0] <= factor[1] + 0.03


@settings(max_examples=60, deadline=None)
@given(inside_boss, inside_length, inside_length, st.sampled_from(["base", "face"]))
def test_load_never_falls_with_the_engagement(boss, one, other, support):
    short, long = sorted((one, other))
    load = [
        length * wall_factor(boss, support, "original", engagement_over_major=length)
        for length in (short, long)
    ]
    assert load[0] <= load[1] * 1.01


def test_outside_the_table_there_is_no_number():
    found = wall_factor(
        [1.19, 1.2, 3.0, 3.01, np.nan, 2, 2], "base", "original",
        engagement_over_major=[1, 1, 1, 1, 1, 0.4, 3.1],
    )  # fmt: skip
    assert np.isnan(found).tolist() == [True, False, False, True, True, True, True]
    assert isinstance(wall_factor(1.6, "base", "original"), float)


def test_unknown_words_are_refused():
    with pytest.raises(UnknownNameError, match="unknown support 'fase'; did you mean 'face'"):
        wall_factor(1.6, "fase", "original")
    with pytest.raises(UnknownNameError, match="unknown state"):
        wall_factor(1.6, "face", "tapped")
    with pytest.raises(UnknownNameError, match="unknown bound"):
        wall_factor(1.6, "face", "original", bound="middle")


@pytest.mark.parametrize(
    ("pitch", "major", "support"),
    [(1.25, 8.0, "base"), pytest.param(1, 10, "face", marks=pytest.mark.slow)],
)
def test_a_boss_between_the_rows_is_bracketed(pitch, major, support):
    """Sizes, a boss and engagements that are not in the table."""
    h = np.sqrt(3) / 2 * pitch
    n, boss = 7, 1.55 * major
    found = boss_bounds(
        screw_major=major,
        hole_minor=major - 1.25 * h,
        hole_pitch_diameter=major - 0.75 * h,
        hole_major=major,
        pitch=pitch,
        n_pitches=n,
        boss_diameter=boss,
        support=support,
    )
    safe, high = (
        wall_factor(1.55, support, "original", engagement_over_major=n * pitch / major, bound=b)
        for b in ("lower", "upper")
    )
    assert safe * found.formula <= found.upper
    assert found.lower <= high * found.formula
    assert safe == pytest.approx(found.lower / found.formula, abs=0.06)


class TestDilation:
    """C1 of SAE 770420, a curve for nuts, on round bosses."""

    def above(self, state, support, engagement, boss):
        """Whether C1 lies above the certified upper bound."""
        (upper,) = (
            float(row["upper"])
            for row in ROWS
            if (row["state"], row["support"]) == (state, support)
            and tuple(numbers(row))[:2] == (engagement, boss)
        )
        return dilation_factor(boss, 1.0) > upper

    def test_unsafe_in_thin_bosses_one_diameter_long_however_they_are_held(self):
        for support in ("base", "face"):
            assert self.above("original", support, 1.0, 1.5)
        assert self.above("original", "face", 1.0, 1.8)

    def test_not_unsafe_at_the_length_of_a_thin_nut_held_at_its_base(self):
        for boss in (1.4, 1.5, 1.6, 1.7, 1.8, 2.0):
            assert not self.above("original", "base", 0.5, boss)


class TestWallCap:
    def test_is_flow_stress_times_wall_area_times_at_most_one(self):
        for support in ("base", "face"):
            assert 0.8 <= wall_coefficient(support) <= 1

    def test_every_boss_that_its_wall_governs_carries_it(self):
        for row in ROWS:
            engagement, boss, lower, _ = numbers(row)
            strip = np.pi * 7 / 8 * engagement / np.sqrt(3)
            cap = wall_coefficient(row["support"]) * np.pi / 4 * (boss**2 - 1)
            if engagement >= 1 and strip >= 1.3 * np.pi / 4 * (boss**2 - 1):
                assert lower * strip >= cap

    def test_long_bosses_carry_little_more(self):
        for row in ROWS:
            engagement, boss, _, upper = numbers(row)
            strip = np.pi * 7 / 8 * engagement / np.sqrt(3)
            if engagement >= 2 and strip >= 1.3 * np.pi / 4 * (boss**2 - 1):
                assert upper * strip <= 1.3 * np.pi / 4 * (boss**2 - 1)


class TestSmallestBoss:
    def find(self, length, support, repaired_length=None):
        repaired_length = repaired_length or length
        majors, lengths = {"original": 8.0, "repaired": 9.624}, {"original": length}
        lengths["repaired"] = repaired_length

        def load(state, boss, bound):
            major, engaged = majors[state], lengths[state]
            return (
                np.pi
                * major
                * 7
                / 8
                * engaged
                * wall_factor(
                    boss / major, support, state, engagement_over_major=engaged / major, bound=bound
                )
            )

        return smallest_boss_not_weaker((8.0, 9.624), load)

    @pytest.mark.parametrize("support", ["base", "face"])
    @pytest.mark.parametrize("length", [8.0, 12.0])
    def test_is_thicker_than_the_hole_and_bracketed(self, length, support):
        found = self.find(length, support)
        assert found.searched[0] < found.possible < found.certain < found.searched[1]

    @pytest.mark.slow
    def test_certain_and_possible_hold_with_bounds_computed_anew(self):
        found = self.find(5.0, "face")

        def bounds(major, boss):
            return boss_bounds(
                screw_major=major,
                hole_minor=major - 1.0825 * 1.25,
                hole_pitch_diameter=major - 0.6495 * 1.25,
                hole_major=major,
                pitch=1.25,
                n_pitches=4,
                boss_diameter=boss,
                support="face",
            )

        assert bounds(9.624, found.certain).lower >= bounds(8.0, found.certain).upper
        below = found.possible - 0.5
        assert bounds(9.624, below).upper < bounds(8.0, below).lower

    def test_a_much_shorter_repair_is_never_as_strong(self):
        assert np.isnan(self.find(12.0, "base", repaired_length=6.0).possible)


BENCHMARKS = Path(__file__).parent / "benchmarks"
#: Certified upper bounds of 300 seeded bosses; `boss_upper_table.py` works them out.
BOSSES = list(csv.DictReader((BENCHMARKS / "boss_upper.csv").read_text().splitlines()))


def test_no_wall_factor_is_above_the_certified_upper_bound_of_its_boss():
    """Between the rows of the table, and of pitches that it does not have, too."""
    assert len(BOSSES) == 300
    hole = 20.0  # so wide that no clearance hole of M8 takes anything from a face
    plain = case.joint(
        case.read(
            {"thread": "M8", "screw": "8.8", "parent": "6061-T6", "engagement": "8 mm",
             "insert_length": "8 mm", "boss_diameter": "30 mm"}
        )
    )  # fmt: skip
    thick = 0
    for row in BOSSES:
        boss = replace(
            plain,
            boss_diameter=hole * float(row["boss_over_major"]),
            boss_support=row["support"],
        )
        engaged = hole * int(row["n_pitches"]) / int(row["diameter_over_pitch"])
        # a wall as strong as its thread: the flow stress is above sqrt(3) x shear strength
        factor, most = (
            certified_wall_factor(
                boss, row["state"], hole, engaged, shear=1.0, flow=2.0, bound=bound
            )
            for bound in ("lower", "upper")
        )
        assert factor <= float(row["upper"]) + 1e-5, row
        assert factor <= most, row
        if factor < 1 and engaged >= hole / 2:
            ratios = (float(row["boss_over_major"]), row["support"], row["state"])
            table = wall_factor(*ratios, engagement_over_major=engaged / hole, bound="upper")
            assert most == pytest.approx(table, rel=0.01), row
        thick += int(factor == 1)
    assert thick > 40


@pytest.mark.parametrize("row", [r for r in BOSSES if int(r["n_pitches"]) <= 4][:3])
def test_upper_bounds_of_random_bosses_come_out_again(row):
    sys.path.insert(0, str(BENCHMARKS))
    try:
        from boss_upper_table import upper
    finally:
        sys.path.remove(str(BENCHMARKS))
    found = upper(
        row["state"], row["support"], int(row["diameter_over_pitch"]),
        float(row["boss_over_major"]), int(row["n_pitches"]),
    )  # fmt: skip
    assert found == pytest.approx(float(row["upper"]), abs=2e-5)
