"""How does one input scatter: between limits of size, or about the mean a basis value implies."""

from __future__ import annotations

import math

import numpy as np
from scipy import special

from ..errors import InputError, unknown
from ..sources import Reference
from .distributions import (
    Beta,
    Distribution,
    Lognormal,
    Normal,
    Triangular,
    TruncatedNormal,
    Uniform,
    Weibull,
    weibull_cov,
)

#: Shapes that `tolerance` offers.
TOLERANCE_SHAPES = ("truncated_normal", "uniform", "triangular", "beta")
#: Shapes that `strength` offers.
STRENGTH_SHAPES = ("normal", "lognormal", "weibull")

#: Fraction of the population below a basis value. A and B: 99 % and 90 % of the population exceed
#: the value (with 95 % confidence). S and minimum promise no fraction; they are read as A, which is
#: what lot-release requirements are commonly taken for. Characteristic is the Eurocodes' word.
BELOW_BASIS = {"A": 0.01, "B": 0.10, "S": 0.01, "minimum": 0.01, "characteristic": 0.05}
#: Bases whose value is the mean itself.
MEAN_BASES = ("typical", "measured")

REFERENCES = (
    Reference(
        source="mil-hdbk-17-1f",
        clause="2.2.2, 8.1",
        how_known="memory",
        what="fraction of the population above an A or B basis value, with 95 % confidence",
    ),
    Reference(
        source="common-practice",
        clause="-",
        how_known="common_practice",
        what="S basis and specification minimum read as the 1 % point of the population",
    ),
    Reference(
        source="en-1990",
        clause="1.5.4.1, 4.2",
        how_known="memory",
        what="characteristic strength as the 5 % point of the population",
    ),
)


def tolerance(
    low: float, high: float, *, shape: str = "truncated_normal", position: float = 0.5
) -> Distribution:
    """Distribution of a size between its limits.

    Parameters
    ----------
    low, high : mm
        Limits of size.
    shape : "truncated_normal", "uniform", "triangular" or "beta"
        `uniform` where nothing but the limits is known; the others have the hump of a process.
        `truncated_normal` and `beta` spread six standard deviations over the tolerance.
    position : 0 to 1
        Where in the tolerance the hump lies: 0.5 centre, towards 1 for a worn drill.

    Raises
    ------
    InputError, UnknownNameError

    Notes
    -----
    That a tolerance spans six standard deviations of the process is common practice, without a
    published source; the shape is a choice of the engineer, not a fact of the part.

    Examples
    --------
    >>> size = tolerance(7.188, 7.348, shape="triangular")
    >>> print(f"{size.mean:.3f} {size.sd:.4f}")
    7.268 0.0327
    """
    if not 0 <= position <= 1:
        raise InputError(f"position in the tolerance must lie between 0 and 1, got {position:g}")
    peak = low + position * (high - low)
    if shape == "uniform":
        return Uniform(low=low, high=high)
    if shape == "triangular":
        return Triangular(low=low, mode=peak, high=high)
    if shape == "truncated_normal":
        return TruncatedNormal(location=peak, scale=(high - low) / 6, low=low, high=high)
    if shape == "beta":
        # a + b = 8 gives one sixth of the range as standard deviation when the hump is central.
        if not 0.125 <= position <= 0.875:
            raise InputError(
                "position of a beta distribution must lie between 0.125 and 0.875, "
                f"got {position:g}; nearer a limit use 'triangular'"
            )
        return Beta(low=low, high=high, a=8 * position, b=8 * (1 - position))
    raise unknown("shape of a tolerance", shape, TOLERANCE_SHAPES)


def strength(value: float, *, basis: str, cov: float, shape: str = "normal") -> Distribution:
    """Distribution of a strength of which a basis value and the relative scatter are given.

    Parameters
    ----------
    value : MPa
        The value the source gives.
    basis : "A", "B", "S", "minimum", "characteristic", "typical" or "measured"
        What the value is. A, S and minimum: the 1 % point of the population; characteristic: the
        5 % point; B: the 10 % point; typical and measured: the mean.
    cov : standard deviation over mean; assumed or measured by the engineer.
    shape : "normal", "lognormal" or "weibull"

    Returns
    -------
    Distribution
        Its `mean` and `sd` are the implied ones, to be printed beside the basis value.

    Raises
    ------
    InputError, UnknownNameError

    Notes
    -----
    An A value is exceeded by 99 % of the population with 95 % confidence: the true 1 % point most
    likely lies higher. Taking it as the 1 % point leaves that reserve out of the calculation.
    Source: MIL-HDBK-17-1F, definitions of the bases. Known from: memory.

    Examples
    --------
    >>> implied = strength(186, basis="A", cov=0.04)
    >>> print(f"{implied.mean:.1f} {implied.sd:.2f}")
    205.1 8.20
    """
    if not value > 0 or not math.isfinite(value):
        raise InputError(f"strength must be above zero, got {value:g}")
    if not 0 < cov < 0.4:
        raise InputError(f"cov of a strength must lie between 0 and 0.4 (0.04 is 4 %), got {cov:g}")
    if basis in MEAN_BASES:
        below = None
    elif basis in BELOW_BASIS:
        below = BELOW_BASIS[basis]
    else:
        raise unknown("basis", basis, (*BELOW_BASIS, *MEAN_BASES))
    if shape == "normal":
        z = 0.0 if below is None else float(special.ndtri(below))
        mean = value / (1 + z * cov)
        return Normal(mean=mean, sd=cov * mean)
    if shape == "lognormal":
        log_sd = math.sqrt(math.log1p(cov**2))
        shift = log_sd**2 / 2 if below is None else log_sd * float(special.ndtri(below))
        return Lognormal(median=value * math.exp(-shift), log_sd=log_sd)
    if shape == "weibull":
        k = weibull_shape(cov)
        ratio = math.gamma(1 + 1 / k) if below is None else float((-np.log1p(-below)) ** (1 / k))
        return Weibull(scale=value / ratio, shape=k)
    raise unknown("shape of a strength", shape, STRENGTH_SHAPES)


def weibull_shape(cov: float) -> float:
    """Shape parameter of the two-parameter Weibull distribution with a given cov.

    Examples
    --------
    >>> print(f"{weibull_shape(0.04):.1f}")
    31.4
    """
    from scipy import optimize  # on use: it takes longer to import than a simulation

    if not 0.001 <= cov <= 2:
        raise InputError(f"cov must lie between 0.001 and 2, got {cov:g}")
    return float(optimize.brentq(lambda k: weibull_cov(k) - cov, 0.4, 2000.0, xtol=1e-10))
