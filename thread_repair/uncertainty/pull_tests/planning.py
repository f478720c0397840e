"""How many test pieces does a claim need, and what can so few not show."""

import math
from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import optimize, special

from ...arrays import fraction, number_above_zero
from ...errors import ValidityError, looked_up
from ...facts import Fact, count, fact, number, share
from ...units import plain
from ..intervals import CONFIDENCE
from .tolerance import k_factor, weibull_estimates, weibull_factor

#: A plan beyond this many pieces is no plan.
MOST = 2000
#: Chance that a test shows what is there to be shown; common practice, no published source.
POWER = 0.80


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Number of pieces, of each state where two are compared, and the chance that they show it."""

    n: int
    power: float


def pieces_for_bound(
    *,
    requirement: float,
    mean: float,
    cov: float,
    coverage: float,
    confidence: float = 0.95,
    power: float = POWER,
    shape: str = "normal",
) -> Plan:
    """Pieces needed for a lower tolerance bound to reach a requirement.

    Parameters
    ----------
    requirement : N, load that the bound must reach
    mean, cov : expected mean load, N, and relative scatter
    coverage, confidence : of the bound, 0.99 and 0.95 for "99/95"
    power : chance that the test shows the claim if mean and cov are as expected
    shape : "normal" or "weibull", of the population and of the bound

    Returns
    -------
    Plan

    Raises
    ------
    UnknownNameError
        For another shape.
    ValidityError
        If no number of pieces can show the claim: the requirement lies above the quantile itself.

    Notes
    -----
    Normal: the chance that mean - k sd reaches the requirement is a noncentral t probability.
    Weibull: the chance that scale exp(-w / shape) does is counted among the simulated samples that
    give w, within 1 %.
    """
    fraction(coverage=coverage, confidence=confidence, power=power)
    number_above_zero(requirement=requirement, mean=mean, cov=cov)
    planned = looked_up("shape", shape, {"normal": _normal, "weibull": _weibull})
    quantile, chance, least = planned(requirement / mean, cov, coverage, confidence)
    quantile *= mean
    if requirement >= quantile:
        asked, carried = (plain(x, dimension="force") for x in (requirement, quantile))
        raise ValidityError.of(
            "no_number_shows_load", asked=asked, percent=100 * coverage, carried=carried
        )
    return _fewest(chance, power, least=least)


#: Quantile of a population of mean 1, chance that n pieces show a requirement, fewest pieces.
_Planned = tuple[float, Callable[[int], float], int]


def _normal(requirement: float, cov: float, coverage: float, confidence: float) -> _Planned:
    def chance(n: int) -> float:
        k = float(k_factor(n, coverage=coverage, confidence=confidence))
        root = math.sqrt(n)
        return float(1 - special.nctdtr(n - 1, (1 - requirement) / cov * root, k * root))

    return 1 - cov * float(special.ndtri(coverage)), chance, 2


def _weibull(requirement: float, cov: float, coverage: float, confidence: float) -> _Planned:
    def beyond(log_shape: float) -> float:
        k = math.exp(log_shape)
        return float(special.gammaln(1 + 2 / k) - 2 * special.gammaln(1 + 1 / k)) - asked

    asked = math.log1p(cov**2)
    k = math.exp(float(optimize.brentq(beyond, math.log(0.1), math.log(1e5))))
    log_scale = -float(special.gammaln(1 + 1 / k))

    def chance(n: int) -> float:
        scale, shape = weibull_estimates(n)
        w = weibull_factor(n, coverage=coverage, confidence=confidence)
        return float(np.mean(log_scale + (np.log(scale) - w / shape) / k >= math.log(requirement)))

    return math.exp(log_scale + math.log(-math.log(coverage)) / k), chance, 3


def pieces_for_ratio(*, expected: float, cov: float) -> Plan:
    """Pieces of each state needed to show that repaired is stronger than original.

    Parameters
    ----------
    expected : ratio expected
    cov : relative scatter of either state

    Returns
    -------
    Plan

    Raises
    ------
    ValidityError
        If no number of pieces shows the ratio.

    Notes
    -----
    The two-sided interval of the ratio leaves out 1 with the chance `POWER`. Two-sample t test of
    the logarithms, both groups alike in size and scatter (noncentral t): the test of
    `evidence.compare`. Of fewer pieces than are planned its permutation test could not
    agree: 2 of all the splits in half are as far apart as the pieces at most.
    """
    number_above_zero(expected=expected, cov=cov)
    if expected <= 1:
        raise ValidityError.of("no_number_shows_ratio", expected=expected)
    distance = math.log(expected) / math.sqrt(math.log1p(cov**2))

    def chance(n: int) -> float:
        limit = float(special.stdtrit(2 * n - 2, (1 + CONFIDENCE) / 2))
        apart = min(distance * math.sqrt(n / 2), 30.0)  # beyond, SciPy gives NaN here and there
        return float(1 - special.nctdtr(2 * n - 2, apart, limit))

    least = next(n for n in range(2, MOST) if 2 / math.comb(2 * n, n) < 1 - CONFIDENCE)
    return _fewest(chance, POWER, least=least)


def pieces_without_failure(*, coverage: float, confidence: float = 0.95) -> int:
    """Pieces that must all pass a proof load to claim a coverage without assuming a shape.

    Parameters
    ----------
    coverage : float, 0 to 1
    confidence : float, 0 to 1, optional

    Returns
    -------
    int

    Examples
    --------
    >>> pieces_without_failure(coverage=0.90), pieces_without_failure(coverage=0.99)
    (29, 299)
    """
    fraction(coverage=coverage, confidence=confidence)
    return math.ceil(math.log(1 - confidence) / math.log(coverage) - 1e-9)


def cannot_show(n: int) -> tuple[Fact, ...]:
    """Return what a sample of `n` pieces cannot show.

    Parameters
    ----------
    n : int

    Returns
    -------
    tuple of Fact
    """
    found, several = [], "one" if n == 1 else "several"
    pieces = {"specimens": count(n)}
    if n == 1:
        found.append(fact("no_scatter", "caution"))
    elif n < 5:
        k = float(k_factor(n, coverage=0.99, confidence=0.95))
        high = math.sqrt((n - 1) / float(special.chdtri(n - 1, 0.975)))
        found.append(
            fact("scatter_unknown", "caution", **pieces, times=number(high), factor=number(k))
        )
    if n < 8:
        found.append(fact(f"distribution_unknown_{several}", "caution", **pieces))
    for coverage in (0.90, 0.99):
        needed = pieces_without_failure(coverage=coverage)
        if n < needed:
            limit = {"content": share(coverage), "needed": count(needed)}
            found.append(fact(f"no_free_limit_{several}", "caution", **pieces, **limit))
    return tuple(found)


def _fewest(chance: Callable[[int], float], power: float, *, least: int) -> Plan:
    """Fewest pieces, `least` or more, whose chance, which rises with them, reaches `power`."""
    most = least
    while most < MOST and chance(most) < power:  # few pieces cost less to simulate
        most = min(2 * most, MOST)
    pieces = range(least, most + 1)
    at = bisect_left(pieces, power, key=chance)
    if at == len(pieces):
        raise ValidityError(f"the claim needs more than {MOST} pieces")
    return Plan(n=pieces[at], power=chance(pieces[at]))
