"""Chance of stripping: distributions, sampling, rare events, drivers.

Closed forms used as checks: products of lognormals (the ratio of two strip loads), a linear limit
state of normals, moments of the standard distributions (scipy.stats), and the Ishigami function
with its analytic indices (First International Symposium on Uncertainty Modeling and Analysis,
1990, p. 398; a = 7, b = 0.1; indices derived here from the function).
"""

import math
from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from scipy import stats

import thread_repair as tr
from thread_repair import case as cases
from thread_repair.errors import GeometryError, InputError, UnknownNameError, ValidityError
from thread_repair.uncertainty.intervals import mean_interval
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
    JointModel,
    SampledLoads,
    complete,
    engagement,
    length_that_holds,
    loads,
    strip_load,
    variables,
)
from thread_repair.uncertainty.reliability.sampling import (
    points,
    probability,
    rare_events,
    simulate,
    subset_simulation,
)
from thread_repair.verification.exact import lognormal_joint


def rare(model, name, *, seed):
    return rare_events(model, [name], seed=seed)[name]


def m8(**changes):
    """A joint of a case; its sizes are those of minimum material."""
    given = {"thread": "M8x1.25", "screw": "8.8", "parent": "6061-T6", "engagement": "10 mm",
             "insert_length": "1.5 D"}  # fmt: skip
    return cases.joint(cases.read(given | changes))


SCATTER = {
    "original.outside_diameter": tolerance(7.760, 7.972),
    "original.hole_pitch_diameter": stats.beta(4, 4, 7.188, 0.16),
    "original.full_thread": uniform(9.0, 10.0),
    "repaired.outside_diameter": stats.triang(0.5, 9.45, 0.174),
    "repaired.hole_pitch_diameter": tolerance(8.812, 8.937),
    "repaired.full_thread": uniform(8.6, 9.0),
    "parent_shear_strength": strength(186, basis="A", cov=0.04),
    "screw_tensile_strength": strength(800, basis="minimum", cov=0.03),
    "load": stats.norm(20000, 2500),
    "preload_place": 0.5,
}


def joint(quantities=MappingProxyType({}), **changes) -> JointModel:
    """An invented M8 joint; a quantity of None is left out."""
    given = {name: each for name, each in (SCATTER | quantities).items() if each is not None}
    return replace(JointModel(joint=m8(), quantities=given), **changes)


def fixed(**lengths) -> dict:
    """Sizes that do not scatter, with the engaged lengths by state."""
    sizes = {"outside_diameter": 7.9, "hole_pitch_diameter": 7.25}
    outer = {"outside_diameter": 9.5, "hole_pitch_diameter": 8.9}
    return (
        {f"original.{name}": each for name, each in sizes.items()}
        | {f"repaired.{name}": each for name, each in outer.items()}
        | {f"{state}.full_thread": length for state, length in lengths.items()}
    )


def closed(target: float) -> tuple[JointModel, float]:
    """A joint whose chance of stripping before the screw breaks is `target` in closed form."""
    return lognormal_joint(target), target


# ---- distributions


@pytest.mark.parametrize(
    "of",
    [
        tolerance(2, 5), uniform(2, 5), strength(3, basis="A", cov=0.2), stats.norm(3, 2),
        stats.truncnorm(-1, 2, 3, 2),
    ],
)  # fmt: skip
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
    ("basis", "below"),
    [("A", 0.01), ("B", 0.1), ("S", 0.01), ("minimum", 0.01), ("characteristic", 0.05)],
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
        (lambda: strength(186, basis="A", cov=0.4), "0.04 is 4 %"),
        (lambda: strength(-1, basis="A", cov=0.04), "strength must be above zero"),
        (lambda: tolerance(7.3, 7.1), "low must be below high"),
        (lambda: required_engagement(joint(), "original", probability=0.7, seed=1), "0.5"),
        (
            lambda: required_engagement(joint(), "original", probability="a", seed=1),
            "must be a number",
        ),
        (lambda: simulate(joint(), seed=-1), "seed"),
        (
            lambda: simulate(joint(), seed=None),
            "seed must be a whole number, zero or more, got 'None'",
        ),
        (lambda: simulate(joint(), seed=1.5), "seed must be a whole number"),
    ],
)
def test_impossible_input_is_refused_in_words(call, text):
    with pytest.raises(InputError, match=text):
        call()


@pytest.mark.parametrize(
    ("call", "hint"),
    [
        (lambda: strength(186, basis="Z", cov=0.04), "unknown basis"),
        (lambda: joint({"full_thraed": 8.0}), "original.full_thread"),
        (lambda: required_engagement(joint(), "original ", probability=0.1, seed=1), "'original'"),
    ],
)
def test_unknown_names_get_a_hint(call, hint):
    with pytest.raises(UnknownNameError, match=hint):
        call()


def test_threads_that_do_not_overlap_are_refused():
    with pytest.raises(GeometryError):
        simulate(joint({"original.hole_pitch_diameter": uniform(9.0, 9.5)}), seed=1, n=64)


def test_a_factor_without_value_is_refused_not_counted_as_holding():
    """A boss of 11 mm round the insert hole is thinner than any rule; 1.2 x 9.624 = 11.55 mm."""
    thin = replace(m8(boss_diameter="14 mm"), boss_diameter=11.0)
    with pytest.raises(ValidityError, match=r"repaired: .* 100.00 % of the sampled joints"):
        simulate(joint(joint=thin), seed=1, n=4096)


# ---- the strip load


def test_strip_load_is_the_primary_formula():
    """By hand: M8, 8 mm at 7.760/7.348, 186 MPa; 134.63 mm2 for 8 mm is in published/."""
    model = joint(
        {
            "original.outside_diameter": 7.760,
            "original.hole_pitch_diameter": 7.348,
            "original.full_thread": 8.0,
            "parent_shear_strength": 186.0,
        }
    )
    assert float(loads(model, {}).strip["original"]) == pytest.approx(134.63 * 186, rel=5e-5)


def test_the_bending_factor_follows_the_sampled_strengths():
    """A parent nearly as strong as its screw: C3 falls, by hand at a strength ratio of 0.8.

    C3 = 0.728 + 1.769 x 0.8 - 2.896 x 0.64 + 1.296 x 0.512 = 0.9533 (SAE 770420).
    """
    model = joint(fixed(original=8.0, repaired=8.0))
    # areas for 8 mm by hand: pi 7.9 6.4 (0.625 + 0.65 tan30) = 158.88; the screw's 97.290 printed
    tensile = m8().parent_tensile.value / m8().parent_shear.value
    weak = {"screw_tensile_strength": np.asarray(158.88 * 300 * tensile / (0.8 * 97.290)),
            "parent_shear_strength": np.asarray(300.0)}  # fmt: skip
    found = strip_load(model, "original", complete(model, weak), 8.0)
    screw_thread = 97.290 * weak["screw_tensile_strength"] * m8().screw.shear_over_tensile * 0.897
    by_hand = min(158.88 * 300 * 0.9533, float(screw_thread))
    assert float(found) == pytest.approx(by_hand, rel=2e-4)


@pytest.mark.parametrize("boss", [14, 16, 22])
def test_in_a_boss_the_length_that_holds_a_load_holds_it(boss):
    """And two micrometres less do not; a load beyond the wall no length holds."""
    model = joint(fixed(original=8.0, repaired=8.0) | {"screw_tensile_strength": 1200.0},
                  joint=m8(boss_diameter=f"{boss} mm"))  # fmt: skip
    at = complete(model, {"parent_shear_strength": np.array([150.0, 200.0, 250.0])})
    most = strip_load(model, "original", at, 80.0)
    for share in (0.3, 0.6, 0.9):
        length = length_that_holds(model, "original", at, share * most)
        assert (strip_load(model, "original", at, length) >= share * most).all()
        assert (strip_load(model, "original", at, length - 0.002) < share * most).all()
    assert (length_that_holds(model, "original", at, 1.01 * most) == np.inf).all()
    # thread and wall are of one lot: what holds is in proportion to its shear strength
    np.testing.assert_allclose(most / at["parent_shear_strength"], most[0] / 150)


def test_preload_adds_to_the_share_of_the_load_in_its_own_state():
    """By hand: 8 kN + 0.2 x 1.5 x 20 kN = 14 kN; the load alone 30 kN; nothing for the other."""
    model = joint(preload={"original": (6000, 10000)}, load_factor=1.5, load_share=0.2)
    assert "preload_place" in {v.name for v in variables(model)}
    found = loads(model, {})
    assert float(found.tightened["original"]) == pytest.approx(14000)
    assert float(found.demand) == pytest.approx(30000)
    assert set(found.tightened) == {"original"}
    unloaded = joint({"load": None}, preload={"original": (6000, 10000)})
    assert float(loads(unloaded, {}).tightened["original"]) == 8000


def test_one_parent_serves_both_states():
    """With nothing else random, the ratio of the states does not scatter at all."""
    model = joint(
        fixed(original=10.0, repaired=8.0) | {"screw_tensile_strength": 1200.0, "load": None}
    )
    found = simulate(model, seed=1, n=4096)
    ratio = found.strip["repaired"] / found.strip["original"]
    np.testing.assert_allclose(ratio, ratio[0])
    # by hand: 9.5 x 8 (0.625 + 0.6 tan30) over 7.9 x 10 (0.625 + 0.65 tan30)
    assert ratio[0] == pytest.approx(9.5 * 8 * 0.97141 / (7.9 * 10 * 1.00028), rel=1e-4)


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
    random = 1.96 * math.sqrt(exact * (1 - exact) / 2**17)
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


def test_the_required_mean_leaves_room_for_a_length_that_scatters_to_one_side():
    """Nothing else scatters: the one of a hundred lengths that is least has to hold the screw."""
    length = stats.lognorm(0.2, scale=10)
    alone = {"parent_shear_strength": 200.0, "screw_tensile_strength": 1200.0, "load": None}
    model = joint(fixed(original=length, repaired=10.0) | alone)
    drawn = loads(model, {"original.full_thread": np.array(10.0)})
    holds = 10 * float(drawn.screw / drawn.strip["original"])
    found = required_engagement(model, "original", probability=0.01, seed=1)
    assert found.length == pytest.approx(holds + length.mean() - length.ppf(0.01), rel=1e-3)


def test_each_event_is_of_its_own_condition():
    """Powers of two: no other two of them lie as far apart."""
    drawn = SampledLoads(
        strip={"original": np.array(4.0), "repaired": np.array(8.0)},
        screw=np.array(16.0),
        demand=np.array(2.0),
        tightened={"original": np.array(32.0), "repaired": np.array(128.0)},
    )
    assert {name: float(beyond(drawn)) for name, beyond in EVENTS.items()} == {
        "original_fails_under_preload": 4 - 32,
        "repaired_fails_under_preload": 8 - 128,
        "original_margin_negative": 4 - 2,
        "repaired_margin_negative": 8 - 2,
        "original_strips_before_screw_breaks": 4 - 16,
        "repaired_strips_before_screw_breaks": 8 - 16,
        "repaired_weaker_than_original": 8 - 4,
    }


def test_the_set_down_costs_only_what_the_screw_lacks():
    for reach, engaged in ((12.0, 9.0), (9.5, 8.5), (0.5, 0.0)):
        model = joint(
            {"repaired.full_thread": 9.0, "repaired.set_down": 1.0}, reach={"repaired": reach}
        )
        assert engagement(model, "repaired", complete(model, {})) == engaged


def test_few_events_fall_back_on_exact_limits():
    found = probability([0, 1, 0, 2], 1000)
    low, high = stats.binomtest(3, 4000).proportion_ci(0.95, method="exact")
    assert (found.low, found.high) == pytest.approx((low, high))
    assert found.method == "exact"


@pytest.mark.slow
def test_interval_over_nets_covers_at_its_confidence():
    """200 estimates of a known probability, each from 8 small nets: 93 to 97 % cover it.

    With the normal quantile in place of Student's 91 % would, with intervals a quarter wider 98 %.
    """
    generator = np.random.default_rng(11)
    hits = []
    for seed in generator.integers(2**31, size=200 * 8):
        u = points(2, 64, seed=int(seed))
        hits.append(np.mean(u.sum(axis=1) < 0.8))
    _, low, high = mean_interval(np.array(hits).reshape(200, 8).T)
    covered = np.mean((low <= 0.32) & (high >= 0.32))
    assert 0.93 <= covered <= 0.97


def test_a_negative_margin_counts_the_screw_as_well():
    model = joint({"load": stats.norm(31000, 100)})
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
    assert len(found) == 4 * 5 and {tuple(row) for row in found} == {
        ("quantity", "fraction", "load_N")
    }
    screw = [row["load_N"] for row in found if row["quantity"] == "screw tension"]
    assert screw == sorted(screw)


# ---- rare events


def test_events_walked_to_in_step_are_those_walked_to_alone():
    model, _ = closed(1e-4)
    names = ["original_strips_before_screw_breaks", "repaired_weaker_than_original"]
    together = rare_events(model, names, seed=8)
    assert together == {name: rare(model, name, seed=8) for name in names}


@pytest.mark.parametrize("target", [1e-2, 1e-4, 1e-6])
def test_rare_event_is_near_its_closed_form(target):
    model, exact = closed(target)
    found = rare(model, "original_strips_before_screw_breaks", seed=8)
    assert found.estimate == pytest.approx(exact, rel=0.4)
    assert found.low <= exact <= found.high


@pytest.mark.slow
def test_rare_event_covers_the_closed_form_in_nine_of_ten_seeds():
    model, exact = closed(1e-6)
    name = "original_strips_before_screw_breaks"
    found = [rare(model, name, seed=seed) for seed in range(10)]
    assert sum(f.low <= exact <= f.high for f in found) >= 9
    assert np.mean([f.estimate for f in found]) == pytest.approx(exact, rel=0.1)


def test_two_modes_count_once_where_they_overlap():
    """P(z1 > 3 or z2 > 3.2) of independent normals."""
    exact = 1 - stats.norm.cdf(3) * stats.norm.cdf(3.2)
    found = subset_simulation(lambda z: (np.array([3.0, 3.2]) - z).min(axis=-1), 2, seed=1)[0]
    assert found.low <= exact <= found.high


def test_two_causes_of_one_mode_are_both_found():
    """P(|z1| > 3.5) has two equally likely points."""
    exact = 2 * stats.norm.sf(3.5)
    found = subset_simulation(lambda z: 3.5**2 - z[..., 0] ** 2, 2, seed=3)[0]
    assert found.low <= exact <= found.high


def test_an_impossible_event_is_below_every_probability_stated():
    found = rare(joint({"load": uniform(1.0, 2.0)}), "original_margin_negative", seed=1)
    assert found.estimate == 0
    assert found.high == pytest.approx(1e-7)  # not none: seven steps of ten


def test_a_likely_event_needs_no_step():
    model, exact = closed(0.8)
    found = rare(model, "original_strips_before_screw_breaks", seed=1)
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
    shift = found.length - found.present
    longer = joint({"original.full_thread": uniform(9.0 + shift, 10.0 + shift)})
    built = simulate(longer, seed=9, n=2**17)
    assert built.probabilities["original_strips_before_screw_breaks"].estimate == pytest.approx(
        0.02, rel=0.05
    )


def test_a_length_that_no_input_moves_at_the_middle_still_rises_with_a_rarer_target():
    """Two threads near each other: a screw of 5.8 strips first in most pieces, the iron in few."""
    fed = {"thread": "M8x1.25", "screw": "5.8", "parent": "EN-GJS-500-7", "engagement": "0.5 D",
           "insert_length": "1 D", "samples": "1024"}  # fmt: skip
    model = tr.study(cases.read(fed)).chances.model
    targets = (1e-2, 1e-3, 1e-4)
    found = [required_engagement(model, "original", probability=p, seed=1) for p in targets]
    assert found[0].length > 5.5  # plain sampling of 20,000 joints gives 5.593 mm at 1 % and beyond
    assert np.all(np.diff([each.length for each in found]) > -1e-3)


# ---- drivers


def test_shares_of_a_product_are_those_of_its_logarithms():
    """Strip load = parent x constants x length: small lognormals share as 5^2 and 3^2, 73.5 %.

    The parent is the same in both holes: their ratio is that of the lengths, 3^2 to 4^2.
    """
    lengths = {"original": stats.lognorm(0.04, scale=10), "repaired": stats.lognorm(0.03, scale=10)}
    model = joint(
        fixed(**lengths)
        | {
            "parent_shear_strength": stats.lognorm(0.05, scale=200),
            "screw_tensile_strength": 1200.0,
            "load": None,
        }
    )
    found = drivers(model, seed=1, n=2**10)
    of_lengths = {"repaired.full_thread": 9 / 25, "original.full_thread": 16 / 25}
    for output, shares in (
        ("repaired strip load", {"parent_shear_strength": 25 / 34, "repaired.full_thread": 9 / 34}),
        ("repaired over original", of_lengths),
    ):
        columns = found[output]
        exact = dict.fromkeys(columns["input"], 0.0) | shares
        assert dict(zip(columns["input"], columns["first"], strict=True)) == pytest.approx(
            exact, abs=5e-3
        )
        for name, low, high in zip(
            columns["input"], columns["total_low"], columns["total_high"], strict=True
        ):
            # the product's own interaction, 0.05^2 0.03^2, adds a thousandth at most
            assert low - 2e-3 <= exact[name] <= high + 2e-3


def test_drivers_rank_the_parent_first_and_ignore_the_other_hole():
    found = drivers(joint(), seed=1, n=2**9)
    columns = found["repaired strip load"]
    assert columns["input"][0] == "parent_shear_strength"
    total = dict(zip(columns["input"], columns["total"], strict=True))
    assert total["original.hole_pitch_diameter"] == pytest.approx(0, abs=1e-12)
    assert np.all(np.diff(columns["total"]) <= 0)


def test_one_at_a_time_table_speaks_the_trade():
    steps = {
        step.input.name: step for step in one_at_a_time(joint({"screw_tensile_strength": 1200.0}))
    }
    # from 5 % to 95 %: 3.29 x 4 % of strength, 0.9 mm of 9.5 mm
    assert list(steps)[:2] == ["parent_shear_strength", "original.full_thread"]
    hole = steps["original.hole_pitch_diameter"]
    # by hand: -0.1 tan30 / (P/2 + (d - D2) tan30) at the means
    exact = -100 * 0.1 / math.sqrt(3) / (0.625 + (7.866 - 7.268) / math.sqrt(3))
    assert hole.percent["original"] == pytest.approx(exact, rel=1e-6)
    assert hole.percent["original"] == pytest.approx(-5.95, abs=0.01)
    assert hole.percent["repaired"] == 0
    assert steps["parent_shear_strength"].percent["repaired"] == pytest.approx(
        100 * 10 / SCATTER["parent_shear_strength"].mean()
    )


def test_every_event_is_answered():
    tight = joint(preload={"original": (1e4, 1e4), "repaired": (1e4, 1e4)})
    assert set(simulate(tight, seed=1, n=256).probabilities) == set(EVENTS)
    assert len(simulate(joint(), seed=1, n=256).probabilities) == 5
    assert len(simulate(joint({"load": None}), seed=1, n=256).probabilities) == 3


def test_a_joint_without_scatter_is_refused():
    sure = {"parent_shear_strength": 200.0, "screw_tensile_strength": 800.0, "load": None}
    with pytest.raises(InputError, match="no input of the joint scatters"):
        simulate(joint(fixed(original=10.0, repaired=10.0) | sure), seed=1)
