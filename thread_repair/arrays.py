"""The array type of the package and the one check every formula applies to its inputs."""

import math
import sys
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from .errors import InputError, shown

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


#: The least number above zero, and the greatest number.
_ABOVE_ZERO, _MOST = math.ulp(0.0), sys.float_info.max


def positive(*or_zero: str, **values: ArrayLike) -> tuple[FloatArray, ...]:
    """Copy each named value into a float array and refuse anything not above zero.

    NaN passes through: it means that a source gives no value there. `or_zero` names what may be 0.

    Raises
    ------
    InputError
        Naming the first value at fault, its index where it is an array; or the arrays and their
        shapes, where they do not broadcast.

    Examples
    --------
    >>> positive(pitch=-1.25)
    Traceback (most recent call last):
        ...
    thread_repair.errors.InputError: pitch must be above zero, got -1.25
    """
    bounds = {name: ("zero or more", 0.0) for name in or_zero}
    found = {}
    for name, value in values.items():
        bound, least = bounds.get(name, ("above zero", _ABOVE_ZERO))
        found[name] = _checked(bound, name, value, least)
    return broadcast(**found)


def positive_or_infinite(**values: ArrayLike) -> tuple[FloatArray, ...]:
    """Do the same where infinity stands for a rigid or unbounded body."""
    found = {k: _checked("above zero", k, x, _ABOVE_ZERO, math.inf) for k, x in values.items()}
    return broadcast(**found)


def not_negative(**values: ArrayLike) -> tuple[FloatArray, ...]:
    """Copy each named value into a float array and refuse anything below zero."""
    return positive(*values, **values)


def finite(**values: ArrayLike) -> tuple[FloatArray, ...]:
    """Copy each named value into a float array and refuse what is infinite."""
    return broadcast(**{k: _checked("finite", k, x, -_MOST) for k, x in values.items()})


def _one(name: str, found: FloatArray) -> float:
    """Return one number, and refuse several or none."""
    if found.size != 1:
        raise InputError(f"{name} must be one number, got an array of {found.size}")
    return found.item()


def number_above_zero(**values: float) -> None:
    """Refuse what is not one number above zero: NaN too, as no source stands behind it."""
    for name, value in values.items():
        if math.isnan(_one(name, *positive(**{name: value}))):
            raise InputError(f"{name} must be above zero, got nan")


def broadcast(**values: FloatArray) -> tuple[FloatArray, ...]:
    """Refuse arrays that do not broadcast, naming each with its shape."""
    found = tuple(values.values())
    # Most are numbers: NumPy would take as long over their shapes as all other checks together.
    if len(shapes := {each.shape for each in found}) > 1:
        try:
            np.broadcast_shapes(*shapes)
        except ValueError:
            told = ", ".join(f"{name} {each.shape}" for name, each in values.items() if each.ndim)
            raise InputError(f"the inputs do not broadcast: {told}") from None
    return found


def _checked(
    bound: str, name: str, value: ArrayLike, least: float, most: float = _MOST
) -> FloatArray:
    try:
        found = np.asarray(value)
    except ValueError:  # rows of unequal length
        found = np.array(None)
    # Without its mask a masked array would give the values that somebody struck out.
    if found.dtype.kind not in "iuf" or np.ma.is_masked(value):
        raise InputError(f"{name} must be a number or an array of numbers, got {shown(value)}")
    array = found.astype(np.float64)
    # Two comparisons settle the common case; a million values would take the full check 5 ms.
    if array.ndim and array.size and array.min() >= least and array.max() <= most:
        return array
    # Most are one number, which Python compares in a tenth of the time.
    some: Any = array if array.ndim else array.item()
    wrong = (some < least) | (some > most)
    if wrong.any() if array.ndim else wrong:
        where, (first,) = first_at(wrong, array)
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
    for name, given in values.items():
        if not 0 < (value := _one(name, *finite(**{name: given}))) < 1:
            raise InputError(f"{name} must lie between 0 and 1 (0.95 is 95 %), got {value:g}")


def read_only(values: NDArray[Any]) -> NDArray[Any]:
    """Return the same array, closed for writing."""
    values.flags.writeable = False
    return values
