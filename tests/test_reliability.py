"""Chance of stripping: distributions, sampling, rare events, drivers.

Closed forms used as checks: products of lognormals (the ratio of two strip loads), a linear limit
state of normals, moments of the standard distributions (scipy.stats), and the Ishigami function
with its analytic indices (First International Symposium on Uncertainty Modeling and Analysis,
1990, p. 398; a = 7, b = 0.1; indices derived here from the function).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from thread_repair.errors import GeometryError, InputError, UnknownNameError, ValidityError
from thread_repair.uncertainty.reliability.distributions import (
    at_normal,
    strength,
    tolerance,
    uniform,
)
from thread_repair.uncertainty.reliability.drivers import drivers, one_at_a_time
from thread_repair.uncertainty.reliability.engagement import required_engagement
from thread_repair.uncertainty.reliability.model import (
    EVENTS,
    Boss,
    JointModel,
    StateModel,
    length_that_holds,
    loads,
    variables,
)
from thread_repair.uncertainty.reliability.rare_events import rare_event, subset_simulation
from thread_repair.uncertainty.reliability.sampling import (
    points,
    probability,
    replicate_interval,
    simulate,
)
from thread_repair.verification.closed_forms import lognormal_joint

PITCH = 1.25


def joint(**changes) -> JointModel:
    """An invented M8 joint."""
    model = JointModel(
        pitch=PITCH,
        original=StateModel(
            outside_diameter=tolerance(7.760, 7.972),
            hole_pitch_diameter=stats.beta(4, 4, 7.188, 0.16),
            full_thread=uniform(9.0, 10.0),
        ),
        repaired=StateModel(
            outside_diameter=stats.triang(0.5, 9.45, 0.174),
            hole_pitch_diameter=tolerance(8.812, 8.937),
            full_thread=uniform(9.0, 9.4),
            set_down=uniform(0.3, 0.6),
        ),
        parent_shear_strength=strength(186, basis="A", cov=0.04),
        screw_tensile_strength=strength(800, basis="minimum", cov=0.03),
        stress_area=36.6,
        load=stats.norm(20000, 2500),
    )
    return replace(model, **changes)


def closed(target: float) -> tuple[JointModel, float]:
    """A joint whose chance of stripping before the screw breaks is `target` in closed form."""
    return lognormal_joint(target), target


# ---- distributions


@pytest.mark.parametrize(
    "of", [tolerance(2, 5), uniform(2, 5), strength(3, basis="A", cov=0.2), stats.norm(3, 2)]
)
def test_a_normal_value_keeps_its_probability_in_both_tails(of):
    z = np.array([-6.0, -5.0, -1.0, 0.0, 1.0, 5.0])
    np.testing.assert_allclose(of.cdf(at_normal(of, z)), stats.norm.cdf(z), rtol=1e-5)
    np.testing.assert_allclose(of.sf(at_normal(of, -z)), stats.norm.cdf(z), rtol=1e-5)


def test_a_tolerance_is_six_standard_deviations_of_its_process():
    """By hand: sd of the process 0.16/6 = 0.026667; cut at 3 sd, var 1 - 6 x 0.0044318/0.9973."""
    size = tolerance(7.188, 7.348)
    assert size.mean() == pytest.approx(7.268)
    assert size.std() == pytest.approx(0.16 / 6 * math.sqrt(1 - 6 * 0.0044318 / 0.9973), rel=1e-5)
    assert size.support() == pytest.approx((7.188, 7.348))
    assert tolerance(7.2, 7.2) == uniform(7.2, 7.2) == 7.2


@pytest.mark.parametrize(
    ("basis", "below"), [("A", 0.01), ("B", 0.1), ("S", 0.01), ("characteristic", 0.05)]
)
def test_strength_puts_the_basis_value_at_its_fraction(basis, below):
    implied = strength(186.0, basis=basis, cov=0.04)
    assert float(implied.ppf(below)) == pytest.approx(186.0, rel=1e-9)
    assert implied.std() / implied.mean() == pytest.approx(0.04, rel=1e-6)


def test_typical_strength_is_the_mean():
    assert strength(205.0, basis="typical", cov=0.05).mean() == pytest.approx(205.0)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: strength(186, basis="A", cov=4), "0.04 is 4 %"),
        (lambda: strength(-1, basis="A", cov=0.04), "strength must be above zero"),
        (lambda: tolerance(7.3, 7.1), "low must be below high"),
        (lambda: joint(pitch=0), "pitch must be above zero"),
        (lambda: required_engagement(joint(), "original", probability=0.7, seed=1), "0.5"),
        (lambda: rare_event(joint(load=None), "original_margin_negative", seed=1), "load"),
        (lambda: points(2, 1000, seed=1), "power of two"),
        (lambda: replicate_interval([0.1]), "two replicates"),
        (lambda: simulate(joint(), seed=-1), "seed"),
    ],
)
def test_impossible_input_is_refused_in_words(call, text):
    with pytest.raises(InputError, match=text):
        call()


@pytest.mark.parametrize(
    ("call", "hint"),
    [
        (lambda: strength(186, basis="Z", cov=0.04), "unknown basis"),
        (lambda: joint().state("repairde"), "repaired"),
        (
            lambda: rare_event(joint(), "original_strips_before_screw_break", seed=1),
            "original_strips_before_screw_breaks",
        ),
    ],
)
def test_unknown_names_get_a_hint(call, hint):
    with pytest.raises(UnknownNameError, match=hint):
        call()


def test_threads_that_do_not_overlap_are_refused():
    apart = replace(joint().original, hole_pitch_diameter=uniform(9.0, 9.5))
    with pytest.raises(GeometryError):
        simulate(joint(original=apart), seed=1, n=64)


def test_a_set_down_deeper_than_the_thread_is_refused():
    deep = replace(joint().repaired, set_down=uniform(5.0, 15.0))
    with pytest.raises(InputError, match="set-down exceeds"):
        simulate(joint(repaired=deep), seed=1, n=64)


def test_a_factor_without_value_is_refused_not_counted_as_holding():
    state = replace(
        joint().original,
        bending=lambda at: np.where(at["parent_shear_strength"] < 190, np.nan, 1.0),
    )
    with pytest.raises(ValidityError, match="does not cover"):
        simulate(joint(original=state), seed=1, n=4096)


# ---- the strip load


def test_strip_load_is_the_primary_formula():
    """By hand: M8, 10 mm at 7.760/7.348, 186 MPa; 134.63 mm2 for 8 mm is in published/."""
    model = joint(
        original=StateModel(outside_diameter=7.760, hole_pitch_diameter=7.348, full_thread=8.0),
        parent_shear_strength=186.0,
    )
    assert float(loads(model, {}).strip["original"]) == pytest.approx(134.63 * 186, rel=5e-5)


def test_factors_may_be_numbers_or_functions_of_the_inputs():
    state = replace(joint().original, bending=lambda at: at["pitch"] * 0 + 0.8)
    found, plain = loads(joint(original=state), {}), loads(joint(), {})
    assert found.strip["original"] == pytest.approx(0.8 * plain.strip["original"])
    assert found.strip["repaired"] == plain.strip["repaired"]
    assert loads(joint(original=replace(state, bending=0.8)), {}).strip == found.strip


#: A boss that costs a tenth of the thread up to 10 mm, then gives no more; its wall holds 200 N for
#: each MPa of the parent's shear strength from 5 mm on.
BOSS = Boss(
    lengths=np.array([0.0, 5.0, 10.0, 20.0]),
    effective=np.array([0.0, 4.5, 9.0, 9.0]),
    wall=np.array([0.0, 200.0, 200.0, 200.0]),
)


def test_a_boss_costs_thread_and_its_wall_is_a_bound():
    """M8 of 16.83 mm2 for each mm (134.63 mm2 in 8 mm): the numbers are in the test."""
    state = StateModel(
        outside_diameter=7.760, hole_pitch_diameter=7.348, full_thread=8.0, boss=BOSS
    )
    model = joint(original=state, parent_shear_strength=186.0)
    found = loads(model, {})
    assert float(found.strip["original"]) == pytest.approx(16.829 * 7.2 * 186, rel=1e-4)  # of 8 mm
    longer = loads(
        joint(original=replace(state, full_thread=12.0), parent_shear_strength=186.0), {}
    )
    # 9 mm would carry 28.2 kN and the wall 200 x 186 N
    assert float(longer.strip["original"]) == pytest.approx(16.829 * 9 * 186, rel=1e-4)
    weak = replace(BOSS, wall=BOSS.wall / 2)
    walled = loads(joint(original=replace(state, boss=weak), parent_shear_strength=186.0), {})
    assert float(walled.strip["original"]) == pytest.approx(100 * 186)
    # the other way round: what length holds 20 kN, 25 kN; what holds 30 kN does not exist
    for load, length in ((20e3, 20e3 / 186 / 16.829 / 0.9), (30e3, np.inf)):
        assert length_that_holds(state, found, "original", load) == pytest.approx(length, rel=1e-4)
    assert length_that_holds(replace(state, boss=weak), found, "original", 20e3) == np.inf


def test_the_insert_inside_knows_no_wall():
    base = joint(repaired=replace(joint().repaired, boss=BOSS, inner_limit=900.0))
    found = loads(base, {})
    assert float(found.strip["repaired"]) == pytest.approx(
        900 * float(found.engagement["repaired"])
    )


def test_preload_adds_to_the_share_of_the_load_in_its_own_state():
    """By hand: 8 kN + 0.2 x 1.5 x 20 kN = 14 kN; the load alone 30 kN; nothing for the other."""
    model = joint(
        original=replace(joint().original, preload=(6000, 10000)),
        load_factor=1.5,
        load_share=0.2,
    )
    assert "preload_place" in {v.name for v in variables(model)}
    found = loads(model, {})
    assert float(found.tightened["original"]) == pytest.approx(14000)
    assert float(found.demand) == pytest.approx(30000)
    assert set(found.tightened) == {"original"}
    assert float(loads(replace(model, load=None), {}).tightened["original"]) == 8000


def test_one_parent_serves_both_states():
    """With nothing else random, the ratio of the states does not scatter at all."""
    fixed = StateModel(outside_diameter=7.9, hole_pitch_diameter=7.25, full_thread=10.0)
    longer = replace(fixed, full_thread=10.5)
    model = joint(original=fixed, repaired=longer, screw_tensile_strength=900.0, load=None)
    found = simulate(model, seed=1, n=4096)
    np.testing.assert_allclose(found.strip["repaired"] / found.strip["original"], 1.05)
    assert found.repaired_at_least_original.estimate == 1


# ---- sampling


def test_same_seed_same_numbers_and_a_generator_leaves_its_seed():
    one, two = (simulate(joint(), seed=5, n=4096) for _ in range(2))
    assert one.probabilities == two.probabilities
    np.testing.assert_array_equal(one.screw, two.screw)
    drawn = simulate(joint(), seed=np.random.default_rng(3), n=4096)
    assert simulate(joint(), seed=drawn.seed, n=4096).probabilities == drawn.probabilities


@pytest.mark.parametrize("target", [0.5, 0.1, 0.01])
def test_probability_of_stripping_first_has_its_closed_form(target):
    model, exact = closed(target)
    found = simulate(model, seed=2, n=2**17).probabilities["original_strips_before_screw_breaks"]
    assert found.low <= exact <= found.high
    assert found.estimate == pytest.approx(exact, rel=0.02)


def test_nets_beat_random_points():
    """Sampling error of the mean below a third of that of as many random points."""
    model, exact = closed(0.1)
    found = simulate(model, seed=2, n=2**17).probabilities["original_strips_before_screw_breaks"]
    random = 1.96 * math.sqrt(exact * (1 - exact) / found.n)
    assert (found.high - found.low) / 2 < random / 3


def test_points_keep_half_a_step_from_the_ends():
    """A point at 0 would give an infinite normal value, once in 2^32 points."""
    u = points(3, 2**15, seed=1)
    np.testing.assert_array_equal((u * 2**32) % 1, 0.5)


def test_scrambled_points_fill_every_cell_of_a_net_once():
    u = points(30, 2**15, seed=7)
    for j in range(30):
        assert np.unique(np.floor(u[:, j] * 2**15)).size == 2**15
    squares = np.floor(u[:, 0] * 2**7) * 2**8 + np.floor(u[:, 1] * 2**8)
    assert np.unique(squares).size == 2**15
    assert not np.array_equal(u, points(30, 2**15, seed=8))


def test_reach_lets_the_set_down_cost_only_what_the_screw_lacks():
    base = joint().repaired
    long = replace(base, full_thread=9.0, set_down=1.0, reach=12.0)
    short = replace(long, reach=9.5)
    for state, engaged in ((long, 9.0), (short, 8.5)):
        assert loads(joint(repaired=state), {}).engagement["repaired"] == engaged


def test_limit_is_the_load_of_another_thread():
    base = joint()
    free = loads(base, {})
    capped = loads(joint(repaired=replace(base.repaired, limit=1000.0)), {})
    assert capped.per_length["repaired"] == 1000.0
    assert capped.strip["original"] == free.strip["original"]


def test_few_events_fall_back_on_exact_limits():
    found = probability([0, 1, 0, 2], 1000)
    low, high = stats.binomtest(3, 4000).proportion_ci(0.95, method="exact")
    assert (found.low, found.high) == pytest.approx((low, high))
    assert found.method == "exact"


@pytest.mark.slow
def test_interval_over_nets_covers_at_its_confidence():
    """2,000 estimates of a known probability, each from 8 small nets: 93 to 97 % cover it."""
    generator = np.random.default_rng(11)
    hits = []
    for seed in generator.integers(2**31, size=2000 * 8):
        u = points(2, 64, seed=int(seed))
        hits.append(np.mean(u.sum(axis=1) < 0.8))
    _, low, high = replicate_interval(np.array(hits).reshape(2000, 8).T)
    covered = np.mean((low <= 0.32) & (high >= 0.32))
    assert 0.93 <= covered <= 0.97


def test_a_negative_margin_counts_the_screw_as_well():
    model = joint(load=stats.norm(31000, 100))
    found = simulate(model, seed=1, n=2**14)
    broken = np.mean(np.minimum(found.strip["original"], found.screw) < found.demand)
    assert found.probabilities["original_margin_negative"].estimate == pytest.approx(broken)
    assert broken > 0.3


def test_sample_is_read_only():
    found = simulate(joint(), seed=1, n=2**15)
    assert found.n == 2**15
    assert found.screw.shape == (2**15,)
    with pytest.raises(ValueError, match="read-only"):
        found.screw[0] = 0


def test_quantiles_are_tidy():
    found = simulate(joint(), seed=1, n=2**12).quantiles()
    assert len({len(column) for column in found.values()}) == 1


# ---- rare events


@pytest.mark.parametrize("target", [1e-2, 1e-4, 1e-6])
def test_rare_event_is_near_its_closed_form(target):
    model, exact = closed(target)
    found = rare_event(model, "original_strips_before_screw_breaks", seed=8)
    assert found.estimate == pytest.approx(exact, rel=0.4)
    assert found.low <= exact <= found.high


@pytest.mark.slow
@pytest.mark.parametrize("target", [1e-3, 1e-6])
def test_rare_event_covers_the_closed_form_in_18_of_20_seeds(target):
    model, exact = closed(target)
    name = "original_strips_before_screw_breaks"
    found = [rare_event(model, name, seed=seed) for seed in range(20)]
    assert sum(f.low <= exact <= f.high for f in found) >= 18
    assert np.mean([f.estimate for f in found]) == pytest.approx(exact, rel=0.1)


def test_two_modes_count_once_where_they_overlap():
    """P(z1 > 3 or z2 > 3.2) of independent normals."""
    exact = 1 - stats.norm.cdf(3) * stats.norm.cdf(3.2)
    found = subset_simulation(lambda z: (np.array([3.0, 3.2]) - z).min(axis=1), 2, seed=1)
    assert found.low <= exact <= found.high


def test_two_causes_of_one_mode_are_both_found():
    """P(|z1| > 3.5) has two equally likely points."""
    exact = 2 * stats.norm.sf(3.5)
    found = subset_simulation(lambda z: 3.5**2 - z[:, 0] ** 2, 2, seed=3)
    assert found.low <= exact <= found.high


def test_an_impossible_event_is_below_every_probability_stated():
    found = rare_event(joint(load=uniform(1.0, 2.0)), "original_margin_negative", seed=1)
    assert found.estimate == 0
    assert found.high <= 1e-6


def test_a_likely_event_needs_no_step():
    model, exact = closed(0.8)
    found = rare_event(model, "original_strips_before_screw_breaks", seed=1)
    assert found.low <= exact <= found.high


# ---- required engagement


@pytest.mark.parametrize("target", [0.1, 1e-3, 1e-6])
def test_required_engagement_has_its_closed_form(target):
    model = lognormal_joint(0.01)
    found = required_engagement(model, "original", probability=target, seed=4)
    moved = stats.norm.ppf(0.01) - stats.norm.ppf(target)
    exact = 10.0 * math.exp(moved * math.hypot(0.05, 0.04))
    assert found.length == pytest.approx(exact, rel=2e-3)
    assert found.high - found.low < 0.02 * exact
    assert found.reserve == pytest.approx(10 - found.length)


def test_required_engagement_meets_its_target_when_built():
    found = required_engagement(joint(), "original", probability=0.02, seed=1)
    state = joint().original
    shift = found.length - found.present
    longer = replace(state, full_thread=uniform(9.0 + shift, 10.0 + shift))
    built = simulate(joint(original=longer), seed=9, n=2**17)
    assert built.probabilities["original_strips_before_screw_breaks"].estimate == pytest.approx(
        0.02, rel=0.05
    )


# ---- drivers


def test_shares_of_a_product_are_those_of_its_logarithms():
    """Strip load = parent x constants x error: small lognormals share as 5^2 and 3^2, 73.5 %."""
    fixed = StateModel(
        outside_diameter=7.866,
        hole_pitch_diameter=7.268,
        full_thread=10.0,
        model_error=stats.lognorm(0.03, scale=1),
    )
    model = joint(
        original=fixed,
        repaired=fixed,
        parent_shear_strength=stats.lognorm(0.05, scale=200),
        screw_tensile_strength=800.0,
        load=None,
    )
    found = drivers(model, seed=1, n=2**10)
    columns = found.columns("original strip load")
    shares = dict(zip(columns["input"], columns["first"], strict=True))
    assert shares["parent_shear_strength"] == pytest.approx(25 / 34, abs=5e-3)
    assert shares["original.model_error"] == pytest.approx(9 / 34, abs=5e-3)
    exact = {"parent_shear_strength": 25 / 34, "original.model_error": 9 / 34}
    for name, low, high in zip(
        columns["input"], columns["total_low"], columns["total_high"], strict=True
    ):
        # the product's own interaction, 0.05^2 0.03^2, adds a thousandth at most
        assert low - 2e-3 <= exact.get(name, 0.0) <= high + 2e-3


def test_drivers_rank_the_parent_first_and_ignore_the_other_hole():
    found = drivers(joint(), seed=1, n=2**9)
    assert found.ranked("original strip load")[0][0].name == "parent_shear_strength"
    columns = found.columns("original strip load")
    total = dict(zip(columns["input"], columns["total"], strict=True))
    assert total["repaired.hole_pitch_diameter"] == pytest.approx(0, abs=1e-12)
    assert np.all(np.diff(columns["total"]) <= 0)


def test_one_at_a_time_table_speaks_the_trade():
    steps = {step.input.name: step for step in one_at_a_time(joint())}
    hole = steps["original.hole_pitch_diameter"]
    # by hand: -0.1 tan30 / (P/2 + (d - D2) tan30) at the means
    exact = -100 * 0.1 / math.sqrt(3) / (0.625 + (7.866 - 7.268) / math.sqrt(3))
    assert hole.percent["original"] == pytest.approx(exact, rel=1e-6)
    assert hole.percent["original"] == pytest.approx(-5.95, abs=0.01)
    assert hole.percent["repaired"] == 0
    assert steps["parent_shear_strength"].percent["repaired"] == pytest.approx(
        100 * 10 / joint().parent_shear_strength.mean()
    )


def test_every_event_is_answered():
    tight = joint(
        original=replace(joint().original, preload=(1e4, 1e4)),
        repaired=replace(joint().repaired, preload=(1e4, 1e4)),
    )
    assert set(simulate(tight, seed=1, n=256).probabilities) == set(EVENTS)
    assert len(simulate(joint(), seed=1, n=256).probabilities) == 5
    assert len(simulate(joint(load=None), seed=1, n=256).probabilities) == 3


def test_a_joint_without_scatter_is_refused():
    fixed = StateModel(outside_diameter=7.9, hole_pitch_diameter=7.25, full_thread=10.0)
    with pytest.raises(InputError, match="no input of the joint scatters"):
        simulate(
            joint(
                original=fixed,
                repaired=fixed,
                parent_shear_strength=200.0,
                screw_tensile_strength=800.0,
                load=None,
            ),
            seed=1,
        )
