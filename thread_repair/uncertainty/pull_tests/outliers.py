"""Does one test piece lie farther from its like than chance would put it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import special

from ...arrays import fraction
from ...errors import InputError
from ...facts import Fact, Value, fact, force, number, share
from .records import Group

#: Chance of naming a piece where all are of one normal population.
SIGNIFICANCE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlier:
    """The piece farthest from the mean of its like, and the distance that chance explains.

    `distance` and `critical` are in standard deviations; `load` is in N.
    """

    piece: str
    load: float
    distance: float
    critical: float
    n: int

    @property
    def found(self) -> bool:
        """Whether the piece lies beyond what chance explains."""
        return self.distance > self.critical

    def fact(self, **of: Value) -> Fact:
        """What the test says of the specimen."""
        return fact(
            "outlier" if self.found else "no_outlier",
            "limit" if self.found else "info",
            specimen=self.piece,
            load=force(self.load),
            distance=number(self.distance),
            critical=number(self.critical),
            significance=share(SIGNIFICANCE),
            **of,
        )


def critical_distance(n: int, *, significance: float = SIGNIFICANCE) -> float:
    """Greatest distance from the mean that chance explains, in standard deviations.

    Parameters
    ----------
    n : pieces, three or more
    significance : of the test on both sides

    Returns
    -------
    float

    Raises
    ------
    InputError
        If there are fewer than three pieces.

    Notes
    -----
    (n - 1) / sqrt(n) sqrt(t2 / (n - 2 + t2)) with the t quantile of n - 2 degrees of freedom at
    significance / (2 n). Source: ASTM E178. Known from: memory.

    Examples
    --------
    >>> print(f"{critical_distance(10):.3f}")
    2.290
    """
    fraction(significance=significance)
    if n < 3:
        raise InputError(f"a test for outliers needs three pieces or more, got {n}")
    t2 = float(special.stdtrit(n - 2, significance / (2 * n))) ** 2
    return (n - 1) / math.sqrt(n) * math.sqrt(t2 / (n - 2 + t2))


def farthest(group: Group) -> Outlier | None:
    """Test the piece farthest from the mean; None for fewer than three, or loads all alike.

    Parameters
    ----------
    group : Group

    Returns
    -------
    Outlier or None
    """
    n = len(group.load)
    if n < 3 or np.ptp(group.load) == 0:
        return None
    distance = np.abs(group.load - group.load.mean()) / group.load.std(ddof=1)
    index = int(np.argmax(distance))
    return Outlier(
        piece=group.piece[index],
        load=float(group.load[index]),
        distance=float(distance[index]),
        critical=critical_distance(n),
        n=n,
    )
