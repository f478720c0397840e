"""Scrambled Sobol nets, block by block.

`scipy.stats.qmc` has them too, but importing `scipy.stats` takes longer than the whole evaluation
of a joint. The nets are tested against it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np
from numpy.typing import NDArray

from .. import tables
from ..arrays import FloatArray
from ..errors import InputError, ValidityError

#: The points lie on multiples of 2^-BITS.
BITS = 32
#: Points are drawn and evaluated this many at a time: the arrays of a block stay in the cache,
#: which is three times as fast as one pass over a million, and bounds the memory.
BLOCK = 2**14


def points(dimension: int, n: int, *, seed: int) -> Iterator[FloatArray]:
    """Yield one scrambled Sobol net of `n` points, block by block.

    Parameters
    ----------
    dimension : number of inputs that scatter
    n : number of points, a power of two: only then is the net balanced.
    seed : of the scrambling

    Yields
    ------
    ndarray, shape (block, dimension), every value strictly between 0 and 1

    Notes
    -----
    Digits scrambled by a random lower triangular matrix and a random shift, which leaves every
    point uniformly distributed and the net balanced. Source of the direction numbers: SIAM Journal
    on Scientific Computing 30 (2008) 2635. Known from: read, in a library that ships them.
    """
    if n < 1 or n & (n - 1):
        raise InputError(f"the number of Sobol points must be a power of two, got {n}")
    if n > 2**BITS:
        raise InputError(f"a Sobol net has at most 2^{BITS} points, got {n}")
    directions, shift = _scrambled(dimension, np.random.default_rng(seed))
    size = min(n, BLOCK)
    within = shift[:, None]
    bit = 0
    while within.shape[1] < size:
        within = np.concatenate([within, within ^ directions[:, bit, None]], axis=1)
        bit += 1
    for block in range(n // size):
        start = np.zeros(dimension, dtype=np.uint32)
        for j in range(block.bit_length()):
            if block >> j & 1:
                start ^= directions[:, bit + j]
        # Half a step keeps the points off 0, where a normal quantile is infinite.
        whole = (within ^ start[:, None]).astype(np.float64)
        yield ((whole + 0.5) * 2.0**-BITS).T


def _scrambled(
    dimension: int, generator: np.random.Generator
) -> tuple[NDArray[np.uint32], NDArray[np.uint32]]:
    """Direction numbers under a random lower triangular matrix, and the shift, per dimension."""
    place = np.arange(BITS - 1, -1, -1, dtype=np.uint32)
    # Axis 1: the binary digits, the most significant first; axis 2: the direction numbers.
    digits = (direction_numbers(dimension)[:, None, :] >> place[:, None]) & np.uint32(1)
    matrix = np.tril(generator.integers(0, 2, (dimension, BITS, BITS), dtype=np.uint32), -1)
    matrix |= np.eye(BITS, dtype=np.uint32)
    mixed = np.matmul(matrix, digits) & np.uint32(1)
    scrambled = np.bitwise_or.reduce(mixed << place[:, None], axis=1)
    return scrambled, generator.integers(0, 2**BITS, dimension, dtype=np.uint32)


def direction_numbers(dimension: int) -> NDArray[np.uint32]:
    """Direction numbers of the first dimensions, shape (dimension, BITS).

    Raises
    ------
    ValidityError
        If more dimensions are asked for than the table has.
    """
    known = _direction_numbers()
    if not 1 <= dimension <= len(known):
        raise ValidityError(
            f"Sobol points are known for 1 to {len(known)} inputs that scatter, got {dimension}"
        )
    return known[:dimension]


@cache
def _direction_numbers() -> NDArray[np.uint32]:
    found = []
    for row in tables.rows("sobol_directions.csv"):
        polynomial = int(row["polynomial"])
        degree = polynomial.bit_length() - 1
        odd = [int(text) for text in row["initial"].split()]
        numbers = [m << (BITS - 1 - i) for i, m in enumerate(odd)]
        while len(numbers) < BITS:
            if degree == 0:  # the first dimension: each digit by itself
                numbers.append(1 << (BITS - 1 - len(numbers)))
                continue
            earlier = numbers[-degree]
            value = earlier ^ (earlier >> degree)
            for k in range(1, degree):
                if polynomial >> (degree - k) & 1:
                    value ^= numbers[-k]
            numbers.append(value)
        found.append(numbers)
    table = np.array(found, dtype=np.uint32)
    table.flags.writeable = False
    return table
