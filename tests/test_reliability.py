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
from thread_repair.reliability import (
    EVENTS,
    Beta,
    JointModel,
    Lognormal,
    Normal,
    StateModel,
    Triangular,
    TruncatedNormal,
    Uniform,
    Weibull,
    drivers,
    loads,
    one_at_a_time,
    rare_event,
    required_engagement,
    simulate,
    sobol_indices,
    step_columns,
    strength,
    tolerance,
    uncertainty_sentences,
    variables,
)
from thread_repair.reliability.drivers import saltelli
from thread_repair.reliability.model import Boss, length_that_holds
from thread_repair.reliability.rare_events import (
    design_points,
    importance_sampling,
    subset_simulation,
)
from thread_repair.reliability.sampling import (
    Probability,
    clopper_pearson,
    probability,
    replicate_interval,
)
from thread_repair.reliability.sobol import direction_numbers, points

PITCH = 1.25


def joint(**changes) -> JointModel:
    """An invented M8 joint."""
    model = JointModel(
        pitch=PITCH,
        original=StateModel(
            outside_diameter=tolerance(7.760, 7.972),
            hole_pitch_diameter=tolerance(7.188, 7.348, shape="beta"),
            full_thread=tolerance(9.0, 10.0, shape="uniform"),
        ),
        repaired=StateModel(
            outside_diameter=tolerance(9.45, 9.624, shape="triangular"),
            hole_pitch_diameter=tolerance(8.812, 8.937),
            full_thread=tolerance(9.0, 9.4, shape="uniform"),
            set_down=tolerance(0.3, 0.6, shape="uniform"),
        ),
        parent_shear_strength=strength(186, basis="A", cov=0.04),
        screw_tensile_strength=strength(800, basis="minimum", cov=0.03, shape="lognormal"),
        stress_area=36.6,
        load=Normal(mean=20000, sd=2500),
    )
    return replace(model, **changes)


def lognormal_joint(target: float) -> tuple[JointModel, float]:
    """A joint whose chance of stripping before the screw breaks is `target` in closed form."""
    fixed = StateModel(outside_diameter=7.866, hole_pitch_diameter=7.268, full_thread=10.0)
    base = joint(
        original=fixed,
        repaired=fixed,
        parent_shear_strength=Lognormal(median=200, log_sd=0.05),
        screw_tensile_strength=Lognormal(median=850, log_sd=0.04),
        stress_area=1.0,
        load=None,
    )
    spread = math.hypot(0.05, 0.04)
    per_area = float(loads(base, {}).strip["original"]) / base.parent_shear_strength.mean * 200
    area = per_area * math.exp(stats.norm.ppf(target) * spread) / 850
    return replace(base, stress_area=area), target


# ---- distributions


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (Uniform(low=2, high=5), stats.uniform(2, 3)),
        (Triangular(low=2, mode=2.5, high=5), stats.triang(0.5 / 3, 2, 3)),
        (TruncatedNormal(location=3, scale=1, low=2, high=5), stats.truncnorm(-1, 2, 3, 1)),
        (Beta(low=2, high=5, a=3, b=5), stats.beta(3, 5, 2, 3)),
        (Normal(mean=3, sd=2), stats.norm(3, 2)),
        (Lognormal(median=3, log_sd=0.2), stats.lognorm(0.2, scale=3)),
        (Weibull(scale=3, shape=20), stats.weibull_min(20, scale=3)),
    ],
)
def test_distribution_agrees_with_scipy(ours, theirs):
    u = np.array([1e-6, 0.01, 0.3, 0.5, 0.9, 0.999])
    close = 1e-3 * 3 if isinstance(ours, Beta) else 1e-12
    np.testing.assert_allclose(ours.from_uniform(u), theirs.ppf(u), rtol=1e-9, atol=close)
    np.testing.assert_allclose(ours.from_normal(stats.norm.ppf(u)), theirs.ppf(u), rtol=1e-9)
    assert ours.mean == pytest.approx(theirs.mean(), rel=1e-12)
    assert ours.sd == pytest.approx(theirs.std(), rel=1e-9)


@pytest.mark.parametrize("shape", ["truncated_normal", "uniform", "triangular", "beta"])
def test_tolerance_stays_within_its_limits(shape):
    size = tolerance(7.188, 7.348, shape=shape, position=0.6)
    ends = size.from_uniform(np.array([2.0**-31, 1 - 2.0**-31]))
    assert np.all((ends >= 7.188) & (ends <= 7.348))
    assert 7.188 < size.mean < 7.348


@pytest.mark.parametrize("shape", ["normal", "lognormal", "weibull"])
@pytest.mark.parametrize(("basis", "below"), [("A", 0.01), ("B", 0.1), ("S", 0.01)])
def test_strength_puts_the_basis_value_at_its_fraction(shape, basis, below):
    implied = strength(186.0, basis=basis, cov=0.04, shape=shape)
    assert float(implied.from_uniform(below)) == pytest.approx(186.0, rel=1e-9)
    assert implied.sd / implied.mean == pytest.approx(0.04, rel=1e-6)


@pytest.mark.parametrize("shape", ["normal", "lognormal", "weibull"])
def test_typical_strength_is_the_mean(shape):
    assert strength(205.0, basis="typical", cov=0.05, shape=shape).mean == pytest.approx(205.0)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: strength(186, basis="A", cov=4), "0.04 is 4 %"),
        (lambda: strength(-1, basis="A", cov=0.04), "strength must be above zero"),
        (lambda: tolerance(7.3, 7.1), "low must be below high"),
        (lambda: tolerance(7.1, 7.3, position=2), "between 0 and 1"),
        (lambda: tolerance(7.1, 7.3, shape="beta", position=0), "use 'triangular'"),
        (lambda: Normal(mean=1, sd=0), "sd must be above zero"),
        (lambda: Triangular(low=1, mode=3, high=2), "mode"),
        (lambda: joint(pitch=0), "pitch must be above zero"),
        (lambda: required_engagement(joint(), "original", probability=0.7, seed=1), "0.5"),
        (lambda: rare_event(joint(load=None), "original_margin_negative", seed=1), "load"),
        (lambda: list(points(2, 1000, seed=1)), "power of two"),
        (lambda: replicate_interval([0.1]), "two replicates"),
        (lambda: clopper_pearson(5, 3), "between 0"),
        (lambda: simulate(joint(), seed=-1), "seed"),
    ],
)
def test_impossible_input_is_refused_in_words(call, text):
    with pytest.raises(InputError, match=text):
        call()


@pytest.mark.parametrize(
    ("call", "hint"),
    [
        (lambda: strength(186, basis="Z", cov=0.04, shape="normal"), "unknown basis"),
        (lambda: tolerance(1, 2, shape="unifrom"), "uniform"),
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
    apart = replace(joint().original, hole_pitch_diameter=Uniform(low=9.0, high=9.5))
    with pytest.raises(GeometryError):
        simulate(joint(original=apart), seed=1, n=64)


def test_a_set_down_deeper_than_the_thread_is_refused():
    deep = replace(joint().repaired, set_down=Uniform(low=5.0, high=15.0))
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


def test_preload_from_friction_adds_to_the_demand():
    model = joint(preload=lambda mu: 1000 / mu, friction=Uniform(low=0.1, high=0.2))
    assert "friction" in {v.name for v in variables(model)}
    assert float(loads(model, {"friction": np.array(0.1)}).demand) == pytest.approx(30000)


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
    model, exact = lognormal_joint(target)
    found = simulate(model, seed=2, n=2**17).probabilities["original_strips_before_screw_breaks"]
    assert found.low <= exact <= found.high
    assert found.estimate == pytest.approx(exact, rel=0.02)


def test_nets_beat_random_points():
    """Sampling error of the mean below a third of that of as many random points."""
    model, exact = lognormal_joint(0.1)
    found = simulate(model, seed=2, n=2**17).probabilities["original_strips_before_screw_breaks"]
    random = 1.96 * math.sqrt(exact * (1 - exact) / found.n)
    assert (found.high - found.low) / 2 < random / 3


def test_points_keep_half_a_step_from_the_ends():
    """A point at 0 would give an infinite normal value, once in 2^32 points."""
    u = np.concatenate(list(points(3, 2**15, seed=1)))
    np.testing.assert_array_equal((u * 2**32) % 1, 0.5)


def test_points_are_those_of_scipy_before_scrambling():
    theirs = stats.qmc.Sobol(64, scramble=False, bits=32).random(2**10)
    ours = np.zeros((64, 1), dtype=np.uint32)
    for bit in range(10):
        ours = np.concatenate([ours, ours ^ direction_numbers(64)[:, bit, None]], axis=1)
    assert sorted(map(tuple, ours.T * 2.0**-32)) == sorted(map(tuple, theirs))


def test_scrambled_points_fill_every_cell_of_a_net_once():
    u = np.concatenate(list(points(30, 2**15, seed=7)))
    for j in range(30):
        assert np.unique(np.floor(u[:, j] * 2**15)).size == 2**15
    squares = np.floor(u[:, 0] * 2**7) * 2**8 + np.floor(u[:, 1] * 2**8)
    assert np.unique(squares).size == 2**15
    assert not np.array_equal(u, np.concatenate(list(points(30, 2**15, seed=8))))


def test_more_inputs_than_the_table_has_are_refused():
    with pytest.raises(ValidityError, match="1 to 64 inputs that scatter, got 65"):
        next(points(65, 2, seed=1))


def test_indices_are_those_of_scipy():
    generator = np.random.default_rng(3)
    f_a, f_b = generator.normal(5, 1, (2, 3, 64))
    f_ab = generator.normal(5, 1, (4, 3, 64))
    theirs = stats.sobol_indices(func={"f_A": f_a, "f_B": f_b, "f_AB": f_ab}, n=64)
    first, total = saltelli(f_a, f_b, f_ab)
    np.testing.assert_allclose(first, theirs.first_order)
    np.testing.assert_allclose(total, theirs.total_order)


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
    assert "Clopper" in found.method


@pytest.mark.slow
def test_interval_over_nets_covers_at_its_confidence():
    """2,000 estimates of a known probability, each from 8 small nets: 93 to 97 % cover it."""
    generator = np.random.default_rng(11)
    hits = []
    for seed in generator.integers(2**31, size=2000 * 8):
        u = np.concatenate(list(points(2, 64, seed=int(seed))))
        hits.append(np.mean(u.sum(axis=1) < 0.8))
    _, low, high = replicate_interval(np.array(hits).reshape(2000, 8).T)
    covered = np.mean((low <= 0.32) & (high >= 0.32))
    assert 0.93 <= covered <= 0.97


def test_a_negative_margin_counts_the_screw_as_well():
    model = joint(load=Normal(mean=31000, sd=100))
    found = simulate(model, seed=1, n=2**14)
    broken = np.mean(np.minimum(found.strip["original"], found.screw) < found.demand)
    assert found.probabilities["original_margin_negative"].estimate == pytest.approx(broken)
    assert broken > 0.3


def test_kept_sample_is_bounded_and_read_only():
    found = simulate(joint(), seed=1, n=2**15, keep=1000)
    assert found.n == 2**15
    assert found.screw.shape == (1000,)
    with pytest.raises(ValueError, match="read-only"):
        found.screw[0] = 0


def test_figure_data_are_tidy():
    found = simulate(joint(), seed=1, n=2**12)
    for columns in (found.quantiles(), found.cumulative(50), step_columns(one_at_a_time(joint()))):
        assert len({len(column) for column in columns.values()}) == 1


@pytest.mark.parametrize(
    ("p", "text"),
    [
        (Probability(estimate=0, low=0, high=1e-5, confidence=0.95, n=1, method=""), "below 1e-05"),
        (
            Probability(estimate=0.1, low=0.05, high=0.2, confidence=0.9, n=1, method=""),
            "0.1 (90 %",
        ),
        (
            Probability(estimate=0.99982, low=0.9997, high=1, confidence=0.95, n=1, method=""),
            "0.999820 (95 % interval 0.999700 to 1)",
        ),
    ],
)
def test_a_probability_reads_well(p, text):
    assert text in str(p)


# ---- rare events


@pytest.mark.parametrize("target", [1e-2, 1e-5, 1e-8])
def test_rare_event_is_near_its_closed_form(target):
    model, exact = lognormal_joint(target)
    found = rare_event(model, "original_strips_before_screw_breaks", seed=8)
    assert found.probability.estimate == pytest.approx(exact, rel=0.03)
    assert found.check.estimate == pytest.approx(exact, rel=0.4)
    assert found.agrees


@pytest.mark.slow
@pytest.mark.parametrize("target", [1e-3, 1e-6])
def test_rare_event_covers_the_closed_form_in_18_of_20_seeds(target):
    model, exact = lognormal_joint(target)
    name = "original_strips_before_screw_breaks"
    found = [rare_event(model, name, seed=seed) for seed in range(20)]
    assert sum(f.probability.low <= exact <= f.probability.high for f in found) >= 18
    assert sum(f.check.low <= exact <= f.check.high for f in found) >= 18
    assert all(f.probability.estimate == pytest.approx(exact, rel=0.05) for f in found)
    assert found[0].reliability_index == pytest.approx(-stats.norm.ppf(exact), abs=1e-3)


def test_design_point_is_the_most_likely_cause():
    """Of lognormals the logarithms share the distance in proportion to their variances."""
    model, exact = lognormal_joint(1e-4)
    found = rare_event(model, "original_strips_before_screw_breaks", seed=1)
    beta, spread = -stats.norm.ppf(exact), math.hypot(0.05, 0.04)
    assert found.design_point["parent_shear_strength"] == pytest.approx(
        200 * math.exp(-beta * 0.05**2 / spread), rel=1e-3
    )
    assert found.design_point["screw_tensile_strength"] == pytest.approx(
        850 * math.exp(beta * 0.04**2 / spread), rel=1e-3
    )


def test_two_modes_count_once_where_they_overlap():
    """P(z1 > 3 or z2 > 3.2) of independent normals."""
    exact = 1 - stats.norm.cdf(3) * stats.norm.cdf(3.2)

    def modes(z):
        return np.array([3.0, 3.2]) - z

    found = importance_sampling(modes, design_points(modes, 2), seed=1)
    assert found.low <= exact <= found.high
    assert found.estimate == pytest.approx(exact, rel=0.01)
    check = subset_simulation(modes, 2, seed=1)
    assert check.low <= exact <= check.high


def test_two_design_points_of_one_mode_are_both_found():
    """P(|z1| > 3.5) has two equally likely points."""
    exact = 2 * stats.norm.sf(3.5)

    def modes(z):
        return (3.5**2 - z[:, :1] ** 2) + 0 * z[:, 1:2]

    nearest = design_points(modes, 2)
    assert len(nearest) == 2
    assert importance_sampling(modes, nearest, seed=3).estimate == pytest.approx(exact, rel=0.01)


def test_an_impossible_event_is_said_to_be_so():
    found = rare_event(joint(load=Uniform(low=1.0, high=2.0)), "original_margin_negative", seed=1)
    assert found.probability.estimate == 0
    assert found.probability.high < 1e-8
    assert found.reliability_index == math.inf
    assert found.agrees


def test_a_likely_event_needs_no_design_point():
    model, exact = lognormal_joint(0.8)
    found = rare_event(model, "original_strips_before_screw_breaks", seed=1)
    assert found.probability.low <= exact <= found.probability.high
    assert found.reliability_index == 0


# ---- required engagement


@pytest.mark.parametrize("target", [0.1, 1e-3, 1e-6])
def test_required_engagement_has_its_closed_form(target):
    model, _ = lognormal_joint(0.01)
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
    width = state.full_thread
    longer = replace(state, full_thread=Uniform(low=width.low + shift, high=width.high + shift))
    built = simulate(joint(original=longer), seed=9, n=2**17)
    assert built.probabilities["original_strips_before_screw_breaks"].estimate == pytest.approx(
        0.02, rel=0.05
    )


def test_required_engagement_for_the_load():
    short = required_engagement(joint(), "repaired", probability=1e-3, seed=1, before="load")
    long = required_engagement(joint(), "repaired", probability=1e-3, seed=1)
    assert short.length < long.length
    with pytest.raises(InputError, match="needs a load"):
        required_engagement(joint(load=None), "repaired", probability=0.01, seed=1, before="load")


# ---- drivers


def test_indices_of_the_ishigami_function():
    a, b = 7.0, 0.1
    total = a**2 / 8 + b * np.pi**4 / 5 + b**2 * np.pi**8 / 18 + 0.5
    first = np.array([(1 + b * np.pi**4 / 5) ** 2 / 2, a**2 / 8, 0]) / total
    cross = b**2 * np.pi**8 * (1 / 18 - 1 / 50) / total
    everything = first + np.array([cross, 0, cross])

    def ishigami(x):
        return np.sin(x[:, 0]) + a * np.sin(x[:, 1]) ** 2 + b * x[:, 2] ** 4 * np.sin(x[:, 0])

    found = sobol_indices(ishigami, [Uniform(low=-np.pi, high=np.pi)] * 3, seed=1)
    np.testing.assert_allclose(found.first[0], first, atol=0.01)
    np.testing.assert_allclose(found.total[0], everything, atol=0.01)
    assert np.all((found.first_low[0] <= first) & (first <= found.first_high[0]))
    assert np.all((found.total_low[0] <= everything) & (everything <= found.total_high[0]))


def test_shares_of_a_linear_function_are_its_variances():
    found = sobol_indices(
        lambda x: 3 * x[:, 0] + 4 * x[:, 1],
        [Normal(mean=0, sd=1), Normal(mean=5, sd=1)],
        seed=1,
        n=2**10,
    )
    np.testing.assert_allclose(found.first[0], [0.36, 0.64], atol=5e-3)


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
    assert (
        hole.sentence("original") == "0.1 mm more pitch diameter of the original hole costs 6.0 %"
    )
    assert "changes nothing" in hole.sentence("repaired")
    assert steps["parent_shear_strength"].percent["repaired"] == pytest.approx(
        100 * 10 / joint().parent_shear_strength.mean
    )


def test_sentences_name_load_seed_chance_and_cause():
    load, first, second, third = uncertainty_sentences(
        simulate(joint(), seed=77, n=2**12), drivers(joint(), seed=1, n=2**8)
    )
    assert "factored design load" in load
    assert "seed 77" in first
    assert "original" in second and "repaired" in second
    assert "shear strength of the parent" in third


def test_every_event_is_answered():
    assert set(simulate(joint(), seed=1, n=256).probabilities) == set(EVENTS)
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
