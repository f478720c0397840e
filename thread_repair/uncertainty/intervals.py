"""How sure is an estimate: two-sided intervals of chances and of test pieces alike."""

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from ..arrays import FloatArray

#: Of every two-sided interval.
CONFIDENCE = 0.95


def mean_interval(values: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Mean of independent values of a normal population and its Student interval.

    Parameters
    ----------
    values : array_like, shape (n, ...)
        Two or more.

    Returns
    -------
    mean, low, high : arrays of the trailing shape
    """
    x = np.asarray(values, dtype=np.float64)
    n, mean = len(x), np.asarray(x.mean(axis=0))
    half = special.stdtrit(n - 1, (1 + CONFIDENCE) / 2) * x.std(axis=0, ddof=1) / np.sqrt(n)
    return mean, mean - half, mean + half
