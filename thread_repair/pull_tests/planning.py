"""How many test pieces does a claim need, and what can so few not show."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from scipy import special

from ..errors import InputError, ValidityError
from ..reliability.distributions import check_fraction
from ..units import plain
from .tolerance import k_factor

#: A plan beyond this many pieces is no plan.
MOST = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Number of pieces, of `each` state where two are compared, and the claim in words."""

    n: int
    power: float
    claim: str
    each: bool = False

    def sentence(self) -> str:
        """Say in a sentence what to test."""
        of = " of each state" if self.each else ""
        chance = f"{100 * self.power:.0f} % chance"
        return f"{self.n} test pieces{of} show that {self.claim}, with {chance}."


def pieces_for_bound(
    *,
    requirement: float,
    mean: float,
    cov: float,
    coverage: float,
    confidence: float = 0.95,
    power: float = 0.80,
    system: str = "SI",
) -> Plan:
    """Pieces needed for a lower tolerance bound to reach a requirement.

    Parameters
    ----------
    requirement : N, load that the bound must reach
    mean, cov : expected mean load, N, and relative scatter
    coverage, confidence : of the bound, 0.99 and 0.95 for "99/95"
    power : chance that the test shows the claim if mean and cov are as expected
    system : of the words, "SI", "inch" or "both"

    Raises
    ------
    ValidityError
        If no number of pieces can show the claim: the requirement lies above the quantile itself.

    Notes
    -----
    The chance that mean - k sd reaches the requirement is a noncentral t probability.
    """
    check_fraction(coverage=coverage, confidence=confidence, power=power)
    _above_zero(requirement=requirement, mean=mean, cov=cov)
    quantile = mean * (1 - cov * float(special.ndtri(coverage)))
    asked = plain(requirement, dimension="force", system=system)
    if requirement >= quantile:
        carried = plain(quantile, dimension="force", system=system, digits=4)
        raise ValidityError(
            f"no number of pieces shows {asked}: {100 * coverage:.0f} % of such pieces "
            f"carry only {carried}"
        )
    distance = (mean - requirement) / (cov * mean)

    def chance(n: int) -> float:
        k = float(k_factor(n, coverage=coverage, confidence=confidence))
        root = math.sqrt(n)
        return float(1 - special.nctdtr(n - 1, distance * root, k * root))

    n = _least(chance, 2, power)
    return Plan(
        n=n,
        power=chance(n),
        claim=f"{100 * coverage:.0f} % of all pieces carry {asked} or more with "
        f"{100 * confidence:.0f} % confidence",
    )


def pieces_for_ratio(
    *,
    expected: float,
    cov: float,
    at_least: float = 1.0,
    confidence: float = 0.95,
    power: float = 0.80,
) -> Plan:
    """Pieces of each state needed to show that repaired over original exceeds a ratio.

    Parameters
    ----------
    expected : ratio expected
    cov : relative scatter of either state
    at_least : ratio to be shown, one-sided
    confidence, power : of the claim; chance of showing it

    Notes
    -----
    Two-sample t test of the logarithms, both groups alike in size and scatter (noncentral t).
    """
    check_fraction(confidence=confidence, power=power)
    _above_zero(expected=expected, cov=cov, at_least=at_least)
    if expected <= at_least:
        raise ValidityError(
            f"no number of pieces shows a ratio above {at_least:g} when {expected:g} is expected"
        )
    distance = math.log(expected / at_least) / math.sqrt(math.log1p(cov**2))

    def chance(n: int) -> float:
        limit = float(special.stdtrit(2 * n - 2, confidence))
        return float(1 - special.nctdtr(2 * n - 2, distance * math.sqrt(n / 2), limit))

    n = _least(chance, 2, power)
    return Plan(
        n=n,
        power=chance(n),
        claim=f"the repaired thread {_more(at_least)} with {100 * confidence:.0f} % confidence",
        each=True,
    )


def _more(ratio: float) -> str:
    if ratio == 1.0:
        return "is stronger than the original one"
    return f"has more than {ratio:g} times the strength of the original one"


def pieces_without_failure(*, coverage: float, confidence: float = 0.95) -> int:
    """Pieces that must all pass a proof load to claim a coverage without assuming a shape.

    Examples
    --------
    >>> pieces_without_failure(coverage=0.90), pieces_without_failure(coverage=0.99)
    (29, 299)
    """
    check_fraction(coverage=coverage, confidence=confidence)
    return math.ceil(math.log(1 - confidence) / math.log(coverage) - 1e-9)


def cannot_show(n: int) -> tuple[str, ...]:
    """Say what a sample of `n` pieces cannot show, one sentence each."""
    if n < 1:
        raise InputError(f"the number of test pieces must be 1 or more, got {n}")
    found = []
    if n == 1:
        found.append(
            "One piece shows no scatter: no interval, no tolerance bound and no test of a "
            "difference can be given."
        )
    elif n < 5:
        k = float(k_factor(n, coverage=0.99, confidence=0.95))
        high = math.sqrt((n - 1) / float(special.chdtri(n - 1, 0.975)))
        found.append(
            f"{n} pieces do not show the scatter: the true standard deviation may be "
            f"{high:.1f} times the one found (95 % interval), and a 99/95 bound lies {k:.1f} "
            "standard deviations below the mean."
        )
    pieces = "1 piece does" if n == 1 else f"{n} pieces do"
    if n < 8:
        found.append(f"{pieces} not show the shape of the distribution.")
    for coverage in (0.90, 0.99):
        needed = pieces_without_failure(coverage=coverage)
        if n < needed:
            found.append(
                f"{pieces} not give a {100 * coverage:.0f}/95 bound that holds for every shape; "
                f"that needs {needed}."
            )
    return tuple(found)


def _least(chance: Callable[[int], float], least: int, power: float) -> int:
    """Return the smallest n whose chance reaches the power; the chance grows with n."""
    low, high = least, least
    while chance(high) < power:
        low, high = high + 1, 2 * high
        if high > MOST:
            raise ValidityError(f"the claim needs more than {MOST} pieces")
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if chance(middle) >= power else (middle + 1, high)
    return low


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not value > 0 or not math.isfinite(value):
            raise InputError(f"{name} must be above zero, got {value:g}")
