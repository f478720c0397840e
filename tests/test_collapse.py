"""Bounds of the thread: what they say of the area formula, of bosses and of the wire."""

import subprocess
import sys
from functools import cache

import numpy as np
import pytest

from thread_repair import tables
from thread_repair.errors import GeometryError, InputError
from thread_repair.strength.areas import strip_area_internal
from thread_repair.strength.collapse.bounds import boss_bounds, cell_bounds, collapse_mechanism
from thread_repair.strength.collapse.profile import Coil, Density, ThreadPair
from thread_repair.tables import all_sources

ORIGINAL = {
    "screw_major": 8.0,
    "hole_minor": 6.647,
    "hole_pitch_diameter": 7.188,
    "hole_major": 8.0,
    "pitch": 1.25,
}
REPAIRED = {
    "screw_major": 9.624,
    "hole_minor": 8.271,
    "hole_pitch_diameter": 8.812,
    "hole_major": 9.624,
    "pitch": 1.25,
}
#: ISO 965-1: 6g screw at its least major diameter, 6H hole at its greatest pitch and minor ones.
LOOSE = {**ORIGINAL, "screw_major": 7.760, "hole_minor": 6.912, "hole_pitch_diameter": 7.348}
COARSE = Density(ridge_rows=3, ridge_columns=3, wall_columns=5)


@cache
def cell(name="ORIGINAL"):
    return cell_bounds(**{"ORIGINAL": ORIGINAL, "REPAIRED": REPAIRED, "LOOSE": LOOSE}[name])


def wire(flow_ratio):
    return Coil(
        screw_major=8.0,
        inner=6.647,
        middle=8.0,
        outer=9.624,
        width=0.875 * 1.25,
        flow_ratio=flow_ratio,
    )


@pytest.mark.parametrize("sizes", ["ORIGINAL", "REPAIRED", "LOOSE"])
def test_formula_lies_within_a_gap_of_three_per_cent_in_a_thick_wall(sizes):
    found = cell(sizes)
    assert found.within
    assert found.gap <= 0.03
    assert found.lower <= found.upper


def test_formula_is_the_handbook_area_times_the_shear_flow_stress():
    """FED-STD-H28/2B (1991), Appendix B; ISO profile, M8, minimum material."""
    area = strip_area_internal(1.25, 1.25, LOOSE["screw_major"], LOOSE["hole_pitch_diameter"])
    found = cell("LOOSE")
    assert found.formula == pytest.approx(area / np.sqrt(3))


def test_load_is_proportional_to_size_squared():
    once = cell()
    inch = cell_bounds(**{name: value / 25.4 for name, value in ORIGINAL.items()})
    assert inch.upper * 25.4**2 == pytest.approx(once.upper, rel=1e-5)


def test_refinement_tightens_both_bounds():
    brackets = [
        boss_bounds(
            **ORIGINAL, n_pitches=2, boss_diameter=12, support="face", density=COARSE, refinement=n
        )
        for n in (1, 2)
    ]
    assert brackets[0].lower < brackets[1].lower < brackets[1].upper < brackets[0].upper


def test_pitches_hang_together_however_their_heights_are_rounded():
    """A thick boss of eight pitches of a sixth: all eight are sheared, not seven of them.

    Somewhere its ridge and its wall compute one height a rounding error apart.
    """
    pitch, height = 1 / 6, 3**0.5 / 2 / 6
    sizes = {
        "screw_major": 1.0, "hole_major": 1.0, "hole_pitch_diameter": 1 - 0.75 * height,
        "hole_minor": 1 - 1.25 * height, "pitch": pitch,
    }  # fmt: skip
    found = boss_bounds(**sizes, n_pitches=8, boss_diameter=2.002)
    assert found.upper == pytest.approx(found.formula, rel=1e-4)


def test_wall_held_further_out_changes_nothing():
    near, far = (cell_bounds(**ORIGINAL, outer_diameter=d) for d in (10.5, 16.0))
    assert near.lower == pytest.approx(far.lower, rel=3e-3)


OVERLAP = ORIGINAL["screw_major"] - ORIGINAL["hole_minor"]


@pytest.mark.parametrize(("kept", "within"), [(0.8, True), (0.5, False)])
def test_formula_is_unsafe_in_a_hole_drilled_far_too_large(kept, within):
    """The area formula does not know the hole's minor diameter."""
    found = cell_bounds(**{**ORIGINAL, "hole_minor": 8.0 - kept * OVERLAP})
    assert found.within is within
    assert (found.formula > found.upper) is not within


@pytest.mark.parametrize(("kept", "within"), [(0.4, True), (0.15, False)])
def test_formula_is_unsafe_for_a_screw_far_too_small(kept, within):
    found = cell_bounds(**{**ORIGINAL, "screw_major": 6.647 + kept * OVERLAP})
    assert found.within is within


@pytest.mark.parametrize("flank_angle", [0.0, 30.0, 55.0])
def test_other_flank_angles(flank_angle):
    found = cell_bounds(**ORIGINAL, flank_angle=flank_angle)
    slope = np.tan(np.radians(flank_angle / 2))
    thickness = 0.625 + (8.0 - 7.188) * slope
    assert found.formula == pytest.approx(np.pi * 8 * thickness / np.sqrt(3))
    assert 0.9 * found.formula < found.lower <= found.upper <= 1.0001 * found.formula


@cache
def boss(diameter, support, *, repaired=False, **options):
    return boss_bounds(
        **(REPAIRED if repaired else ORIGINAL),
        n_pitches=4,
        boss_diameter=diameter,
        support=support,
        density=COARSE,
        **options,
    )


@pytest.mark.parametrize("support", ["base", "face"])
def test_a_thinner_boss_never_helps(support):
    thin, thicker, thick = (boss(d, support) for d in (10.5, 12.5, 20.0))
    assert thin.upper < thicker.lower
    assert thicker.lower <= thick.upper
    assert thick.within


def test_the_repair_is_weaker_in_a_thin_boss_and_stronger_in_a_thick_one():
    for support in ("base", "face"):
        assert boss(12.0, support, repaired=True).upper < boss(12.0, support).lower
    assert boss(20.0, "face", repaired=True).lower > boss(20.0, "face").upper


def test_longer_engagement_does_not_help_a_thin_wall():
    loads = [
        boss_bounds(
            **ORIGINAL, n_pitches=n, boss_diameter=10.0, support="base", density=COARSE
        ).upper
        for n in (4, 8)
    ]
    assert loads[1] == pytest.approx(loads[0], rel=0.02)


def test_a_wide_clearance_hole_weakens_a_boss_held_on_its_face():
    whole, narrow = (boss(11.5, "face", bearing_diameter=d) for d in (None, 9.0))
    assert narrow.upper < whole.lower
    with pytest.raises(InputError, match="not at its base"):
        boss(11.5, "base", bearing_diameter=9.0)
    with pytest.raises(GeometryError, match="cannot bear from 12 mm"):
        boss(11.5, "face", bearing_diameter=12.0)


def test_a_wire_three_times_as_strong_as_the_parent_is_as_good_as_a_rigid_insert():
    rigid, strong, soft = (
        cell_bounds(**REPAIRED, coil=coil) for coil in (None, wire(3.0), wire(1.5))
    )
    assert strong.lower == pytest.approx(rigid.lower, rel=0.005)
    assert soft.upper < 0.95 * rigid.lower


def test_mechanism_can_be_drawn():
    found = collapse_mechanism(
        **REPAIRED, n_pitches=2, boss_diameter=12.0, support="face", coil=wire(4.0)
    )
    t = len(found.triangles)
    assert found.velocities.shape == (t, 3, 2)
    assert found.triangles.max() < len(found.nodes)
    assert 0.5 < np.abs(found.velocities).max() < 10


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"hole_minor": 8.5}, "screw_major must be above the hole's minor diameter 8.5 mm"),
        ({"hole_pitch_diameter": 6.0}, "meet before diameters"),
        ({"pitch": -1.0}, "pitch must be above zero"),
        ({"flank_angle": 130.0}, "flank_angle must be from 0 to 120 deg"),
        ({"outer_diameter": 8.0}, "outer diameter 8 mm, hole major diameter 8 mm"),
    ],
)
def test_impossible_profiles_are_refused(change, text):
    with pytest.raises(InputError, match=text):
        cell_bounds(**{**ORIGINAL, **change})


def test_a_wire_that_does_not_fit_is_refused():
    with pytest.raises(GeometryError, match="does not fit"):
        boss_bounds(**ORIGINAL, n_pitches=2, boss_diameter=14.0, coil=wire(4.0))


def test_unknown_support_is_refused():
    with pytest.raises(InputError, match="did you mean 'base'"):
        boss(14.0, "bas")


def test_solver_is_loaded_only_when_it_is_called():
    code = (
        "import sys, thread_repair.strength.collapse as c; import thread_repair.strength;"
        "assert not {'clarabel', 'scipy'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


class TestShippedCheck:
    """The table of sizes that the report prints."""

    rows = tables.rows("collapse_check.csv")

    def test_covers_twelve_sizes_both_states_and_two_positions(self):
        kinds = {(r["designation"], r["state"], r["tolerance_position"]) for r in self.rows}
        assert len(kinds) == len(self.rows) >= 12 * 2 * 2

    def test_no_gap_is_above_three_per_cent(self):
        for row in self.rows:
            lower, upper = float(row["lower_over_formula"]), float(row["upper_over_formula"])
            assert lower <= 1 and 1 - lower / upper <= 0.03

    def test_formula_is_within_every_bracket_of_metric_threads_from_m3(self):
        rows = [r for r in self.rows if r["designation"].startswith("M")]
        rows = [r for r in rows if float(r["hole_major_mm"]) >= 3 and r["within"] != "yes"]
        assert not rows

    def test_small_threads_hold_less_than_the_formula_by_up_to_six_per_cent(self):
        """Coarse tolerances leave them little overlap: the formula is then above the upper bound."""
        outside = [r for r in self.rows if float(r["upper_over_formula"]) < 0.999]
        assert {r["tolerance_position"] for r in outside} == {"minimum-material"}
        assert max(float(r["screw_major_mm"]) for r in outside) < 5
        assert min(float(r["upper_over_formula"]) for r in outside) == pytest.approx(
            0.945, abs=1e-3
        )

    def test_a_row_can_be_computed_again(self):
        row = next(r for r in self.rows if r["designation"] == "M8x1.25")
        found = cell_bounds(
            screw_major=float(row["screw_major_mm"]),
            hole_minor=float(row["hole_minor_mm"]),
            hole_pitch_diameter=float(row["hole_pitch_diameter_mm"]),
            hole_major=float(row["hole_major_mm"]),
            pitch=float(row["pitch_mm"]),
        )
        assert found.lower / found.formula == pytest.approx(
            float(row["lower_over_formula"]), abs=1e-3
        )
        assert found.formula * 3**0.5 == pytest.approx(float(row["area_per_pitch_mm2"]), abs=2e-3)

    def test_source_is_known(self):
        assert {row["source"] for row in self.rows} <= set(all_sources())


def test_flank_angles_from_square_to_120_degrees():
    """A square thread has flanks of 0 degrees; from 120 on nothing is left of the thread."""
    assert ThreadPair(**ORIGINAL, flank_angle=0).slope == 0
    for angle in (-1, 120):
        with pytest.raises(GeometryError, match="from 0 to 120 deg"):
            ThreadPair(**ORIGINAL, flank_angle=angle)
