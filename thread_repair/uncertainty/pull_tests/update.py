"""What do the pull tests say about the shear strength of this parent, and so about the margin."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from ...arrays import FloatArray, fraction, number_above_zero, positive
from ...errors import InputError
from ...facts import Fact, Value, count, fact, number
from .distributions import sample

#: Piece-to-piece scatter (log sd) that the update considers when it is not given: evenly likely on
#: a logarithmic scale between these. Thread pull tests of one lot lie well inside.
SCATTER_RANGE = (0.003, 0.30)


#: Fewer specimens do not establish a scatter. A choice, no published source.
FEW = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Lognormal:
    """The product of many small causes; never negative. `log_sd` is about the cov when small."""

    median: float
    log_sd: float

    @property
    def mean(self) -> float:
        """Mean of the population."""
        return self.median * math.exp(self.log_sd**2 / 2)

    @property
    def sd(self) -> float:
        """Standard deviation of the population."""
        return self.mean * math.sqrt(math.expm1(self.log_sd**2))


@dataclass(frozen=True, slots=True, kw_only=True)
class ShearStrengthUpdate:
    """Shear strength of the parent before and after the tests, MPa.

    Attributes
    ----------
    prior, posterior : of the lot's mean level; `low` and `high` bound it with the probability
        `credible`
    scatter : of the lot's pieces, log sd, as estimated or as given
    conflict : distance of the tests from the prior in standard deviations of their difference
    n, n_censored : pieces; those that say only "at least" because the screw broke first
    """

    prior: Lognormal
    posterior: Lognormal
    low: float
    high: float
    credible: float
    scatter: float
    conflict: float
    n: int
    n_censored: int

    def cautions(self, **of: Value) -> tuple[Fact, ...]:
        """What the reader must know before using the posterior."""
        found = []
        if abs(self.conflict) > 2:
            side = "above" if self.conflict > 0 else "below"
            apart = number(abs(self.conflict))
            found.append(fact(f"strength_conflict_{side}", "caution", distance=apart, **of))
        pieces = count(self.n)
        if self.n_censored:
            broke = count(self.n_censored)
            found.append(fact("screw_first", "caution", screws=broke, specimens=pieces, **of))
        if self.n < FEW:
            found.append(fact("scatter_little_known", "caution", specimens=pieces, **of))
        return tuple(found)


def update_shear_strength(
    loads: ArrayLike,
    areas: ArrayLike,
    *,
    prior: Lognormal,
    scatter: float | None = None,
    screw_broke: ArrayLike = False,
    credible: float = 0.90,
) -> ShearStrengthUpdate:
    """Update the parent's shear strength by pull tests.

    Parameters
    ----------
    loads : array_like, N, one or more
    areas : array_like, mm2
        Shear area times the factors of the method used, so that load = strength x area; one number
        or one for each piece.
    prior : the strength assumed so far, MPa
    scatter : log sd (about the cov) from piece to piece, where it is known
    screw_broke : array_like of bool
        Pieces whose screw broke: their strength is at least the value reached.
    credible : probability between `low` and `high`

    Returns
    -------
    ShearStrengthUpdate

    Raises
    ------
    InputError
        If areas or `screw_broke` are not one for each piece, or the scatter is not between 0 and 1.

    Notes
    -----
    ln(load / area) is normal about ln(strength). The posterior is summed on a grid of strength and
    scatter; with the scatter known and no screw broken that is the conjugate one, precisions add.
    What comes out is the strength *with this method's area and factors*: pull tests cannot tell a
    strong parent from a method that predicts too little. Use it with the same method only.

    Examples
    --------
    >>> before = Lognormal(median=200, log_sd=0.04)
    >>> after = update_shear_strength([25000] * 4, 120, prior=before, scatter=0.04)
    >>> print(f"{after.posterior.median:.2f} {after.posterior.log_sd:.4f}")
    206.64 0.0179
    """
    tested = sample(loads, least=1)
    area = positive(areas=areas)[0]
    if np.any(np.isnan(area)) or area.shape not in ((), tested.shape):
        raise InputError(f"areas must be one number or one for each of {tested.size} pieces")
    broke = np.asarray(screw_broke)
    if broke.dtype != bool or broke.shape not in ((), tested.shape):  # "no" would count as true
        raise InputError(f"screw_broke must be true or false, one for each of {tested.size} pieces")
    broke = np.broadcast_to(broke, tested.shape)
    fraction(credible=credible, **({} if scatter is None else {"scatter": scatter}))
    logs = np.log(tested / area)
    centre, sd, low, high, spread = _on_grid(prior, logs, broke, scatter, credible)
    error = math.hypot(prior.log_sd, spread / math.sqrt(tested.size))
    seen = float(logs[~broke].mean()) if not broke.all() else math.log(prior.median)
    return ShearStrengthUpdate(
        prior=prior,
        posterior=Lognormal(median=math.exp(centre), log_sd=sd),
        low=math.exp(low),
        high=math.exp(high),
        credible=credible,
        scatter=spread,
        conflict=(seen - math.log(prior.median)) / error,
        n=tested.size,
        n_censored=int(broke.sum()),
    )


def _on_grid(
    before: Lognormal,
    logs: FloatArray,
    broke: NDArray[np.bool_],
    scatter: float | None,
    credible: float,
) -> tuple[float, float, float, float, float]:
    """Centre, sd and interval of ln(strength), and the scatter."""
    centre = math.log(before.median)
    least, most = min(centre, float(logs.min())), max(centre, float(logs.max()))
    low, high = least - 6 * before.log_sd, most + 6 * before.log_sd
    spreads = np.array([scatter]) if scatter else np.geomspace(*SCATTER_RANGE, 81)
    for _ in range(3):  # zoom in: the posterior may be far narrower than the prior
        theta = np.linspace(low, high, 801)
        logp = -0.5 * ((theta - centre) / before.log_sd)[:, None] ** 2
        logp = logp + _log_likelihood(theta, spreads, logs, broke)
        p = np.exp(logp - logp.max())
        p /= p.sum()
        marginal = p.sum(axis=1)
        mean = float(theta @ marginal)
        sd = math.sqrt(float((theta - mean) ** 2 @ marginal))
        step = (high - low) / 800
        low, high = mean - 8 * max(sd, step), mean + 8 * max(sd, step)
    cumulative = np.cumsum(marginal) - marginal / 2
    ends = np.interp([(1 - credible) / 2, (1 + credible) / 2], cumulative, theta)
    spread = float(np.exp(p.sum(axis=0) @ np.log(spreads)))
    return mean, sd, float(ends[0]), float(ends[1]), spread


def _log_likelihood(
    theta: FloatArray, spreads: FloatArray, logs: FloatArray, broke: NDArray[np.bool_]
) -> FloatArray:
    """Log likelihood on the grid, shape (theta, spreads); sums stand in for the exact pieces."""
    exact = logs[~broke]
    found = np.zeros((theta.size, spreads.size))
    if exact.size:
        middle = exact.mean()
        squares = float(np.sum((exact - middle) ** 2)) + exact.size * (theta - middle) ** 2
        found -= exact.size * np.log(spreads) + squares[:, None] / (2 * spreads**2)
    for value in logs[broke]:
        found += special.log_ndtr((theta[:, None] - value) / spreads)
    return found


def margin_effect(
    update: ShearStrengthUpdate, *, area: float, demand: float, bound: float
) -> Mapping[str, float]:
    """Effect of an update on the margin of stripping.

    Parameters
    ----------
    update : ShearStrengthUpdate
    area : mm2, shear area times the factors of the *same method* the update used
    demand : N
    bound : MPa, tolerance bound of the pieces' strength by that method, NaN for none

    Returns
    -------
    mapping of str to float
        Margin by the strength "before" and "after" the tests at the lot's mean level, "after_low"
        at its low end, below which it lies with half the probability that "credible" leaves, and
        "at_bound", by the tolerance bound of single pieces, which is the one that counts; NaN where
        there is none.

    Notes
    -----
    margin = capacity / demand - 1.
    """
    number_above_zero(area=area, demand=demand)
    per_stress = area / demand
    return {
        "before": update.prior.mean * per_stress - 1,
        "after": update.posterior.mean * per_stress - 1,
        "after_low": update.low * per_stress - 1,
        "credible": update.credible,
        "at_bound": bound * per_stress - 1,
    }
