"""The array type of the package and the one check every formula applies to its inputs."""

from __future__ import annotations

import math
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .errors import InputError

FloatArray: TypeAlias = NDArray[np.float64]
#: What a formula returns: a float for scalar input, an array otherwise; what is true of it.
Floats: TypeAlias = float | NDArray[np.float64]
Bools: TypeAlias = bool | NDArray[np.bool_]


def plain(values: ArrayLike) -> Floats:
    """Return one number as a float and an array as it is: none without dimensions leaves a formula.

    Parameters
    ----------
    values : array_like

    Returns
    -------
    float or ndarray

    Examples
    --------
    >>> print(plain(np.array(1.25)), plain([1.25]))
    1.25 [1.25]
    """
    return np.asarray(values, dtype=np.float64)[()]


def positive(**values: ArrayLike) -> tuple[FloatArray, ...]:
    """Turn each named value into a float array and refuse anything not above zero.

    NaN passes through: it means that a source gives no value there.

    Raises
    ------
    InputError
        Naming the first value at fault, its index where it is an array.

    Examples
    --------
    >>> positive(pitch=-1.25)
    Traceback (most recent call last):
        ...
    thread_repair.errors.InputError: pitch must be above zero, got -1.25
    """
    return tuple(_checked(name, value, minimum_excluded=True) for name, value in values.items())


def not_negative(**values: ArrayLike) -> tuple[FloatArray, ...]:
    """Turn each named value into a float array and refuse anything below zero."""
    return tuple(_checked(name, value, minimum_excluded=False) for name, value in values.items())


def _checked(name: str, value: ArrayLike, *, minimum_excluded: bool) -> FloatArray:
    try:
        array = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError):
        raise InputError(f"{name} must be a number or an array of numbers, got {value!r}") from None
    # Most are one number, which Python compares in a tenth of the time.
    some: Any = array if array.ndim else array.item()
    wrong = (some <= 0 if minimum_excluded else some < 0) | (some == math.inf)
    if wrong.any() if array.ndim else wrong:
        where, (first,) = first_at(wrong, array)
        bound = "above zero" if minimum_excluded else "zero or more"
        raise InputError(f"{name} must be {bound}, got {first:g}{where}")
    return array


def first_at(wrong: Bools, *values: Floats) -> tuple[str, list[float]]:
    """Return where something is wrong first, for a message, and the values there.

    Parameters
    ----------
    wrong : bool or ndarray of bool
    *values : float or ndarray

    Returns
    -------
    str, list of float
        The place is empty where there is only one.
    """
    shape = np.shape(wrong)
    index = np.unravel_index(int(np.argmax(wrong)), shape)
    where = f" at index {', '.join(map(str, index))}" if index else ""
    return where, [float(np.broadcast_to(each, shape)[index]) for each in values]


def fraction(**values: float) -> None:
    """Refuse a probability, coverage or confidence that does not lie between 0 and 1."""
    for name, value in values.items():
        if not 0 < value < 1:
            raise InputError(f"{name} must lie between 0 and 1 (0.95 is 95 %), got {value:g}")


def read_only(values: NDArray[Any]) -> NDArray[Any]:
    """Return the same array, closed for writing."""
    values.flags.writeable = False
    return values
