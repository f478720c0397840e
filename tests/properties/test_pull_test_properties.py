"""What must hold of the evidence whatever the pieces."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thread_repair.uncertainty.pull_tests.evidence import compare
from thread_repair.uncertainty.pull_tests.reading import quantity
from thread_repair.uncertainty.pull_tests.tolerance import bound, bounds, k_factor
from thread_repair.uncertainty.pull_tests.update import Lognormal, update_shear_strength

FEW = settings(max_examples=25, deadline=None)
LOADS = st.lists(st.floats(10_000, 50_000), min_size=3, max_size=8, unique=True)


@FEW
@given(loads=LOADS, unit=st.floats(1e-3, 1e3))
def test_bounds_do_not_depend_on_the_unit(loads, unit):
    x = np.array(loads)
    for one, other in zip(
        bounds(x, coverage=0.9, confidence=0.95),
        bounds(unit * x, coverage=0.9, confidence=0.95),
        strict=True,
    ):
        assert other.value == pytest.approx(unit * one.value, rel=1e-5, abs=1e-6, nan_ok=True)


@FEW
@given(n=st.integers(2, 200), coverage=st.floats(0.5, 0.999), confidence=st.floats(0.5, 0.99))
def test_factors_fall_with_pieces_and_rise_with_the_claim(n, coverage, confidence):
    k = k_factor(n, coverage=coverage, confidence=confidence)
    assert k_factor(n + 1, coverage=coverage, confidence=confidence) <= k + 1e-9
    assert k_factor(n, coverage=(1 + coverage) / 2, confidence=confidence) > k
    assert k_factor(n, coverage=coverage, confidence=(1 + confidence) / 2) > k


@FEW
@given(loads=LOADS)
def test_a_surer_claim_is_never_a_higher_load(loads):
    x = np.array(loads)
    # no bound above zero is no load
    surer, less_sure = (
        np.nan_to_num(bound(x, "normal", coverage=coverage, confidence=0.95).value)
        for coverage in (0.99, 0.90)
    )
    assert surer <= less_sure


@FEW
@given(one=LOADS, other=LOADS)
def test_exchanging_the_states_inverts_the_ratio(one, other):
    found, inverse = compare(one, other, seed=1), compare(other, one, seed=1)
    assert (1 / inverse.ratio, 1 / inverse.ratio_high, 1 / inverse.ratio_low) == pytest.approx(
        (found.ratio, found.ratio_low, found.ratio_high)
    )
    assert found.ratio_low <= found.ratio <= found.ratio_high


@FEW
@given(loads=LOADS, area=st.floats(50, 300), sd=st.floats(0.01, 0.1))
def test_posterior_lies_between_the_prior_and_the_pieces(loads, area, sd):
    prior = Lognormal(median=200, log_sd=sd)
    found = update_shear_strength(loads, area, prior=prior, scatter=0.05)
    seen = float(np.exp(np.mean(np.log(np.array(loads) / area))))
    low, high = sorted((200.0, seen))
    assert low * (1 - 1e-9) <= found.posterior.median <= high * (1 + 1e-9)
    assert found.posterior.log_sd < sd


@FEW
@given(value=st.floats(0.01, 1e5))
def test_units_agree_with_each_other(value):
    newtons = quantity(f"{1000 * value!r} N", "force")
    assert quantity(f"{value!r} kN", "force") == pytest.approx(newtons, rel=1e-12)
    pounds = quantity(f"{value!r} lbf", "force")
    assert pounds == pytest.approx(4.4482216152605 * value, rel=1e-12)
    inches = quantity(f"{value!r} in", "length", diameter=8)
    assert inches == pytest.approx(25.4 * value, rel=1e-12)
