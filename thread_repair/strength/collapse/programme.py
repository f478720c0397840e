"""Second-order cone programmes: rows, the call of the solver, and the projection after it."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...arrays import FloatArray
from ...errors import MissingPackageError
from .mesh import IntArray


class Rows:
    """Rows of a sparse matrix, gathered many at a time."""

    def __init__(self, columns: int) -> None:
        self.columns = columns
        self.count = 0
        self._rows: list[IntArray] = []
        self._columns: list[IntArray] = []
        self._values: list[FloatArray] = []

    def add(self, columns: IntArray, values: FloatArray) -> None:
        """Append one row per row of `columns` (repeated columns add up)."""
        self.put(self.count + np.arange(len(columns)), columns, values)
        self.count += len(columns)

    def put(self, rows: IntArray, columns: IntArray, values: FloatArray) -> None:
        """Write entries into given rows; the caller moves `count`."""
        self._rows.append(np.broadcast_to(rows[:, None], columns.shape).ravel())
        self._columns.append(columns.ravel())
        self._values.append(np.broadcast_to(values, columns.shape).ravel())

    def matrix(self) -> Any:
        """Return the matrix, compressed by columns."""
        from scipy import sparse

        if not self._rows:
            return sparse.csc_matrix((self.count, self.columns))
        entries = np.concatenate(self._values)
        place = (np.concatenate(self._rows), np.concatenate(self._columns))
        return sparse.csc_matrix((entries, place), shape=(self.count, self.columns))


def solve(
    *,
    cost: FloatArray,
    equal: Any,
    equal_to: FloatArray,
    at_least: Any,
    at_least_to: FloatArray,
    cone: Any,
    cone_offset: FloatArray,
    cone_size: int,
    tolerance: float,
) -> FloatArray:
    """Minimise cost x with equal x = b, at_least x >= c and cone x + offset in cones.

    The solver's own word, which is often "AlmostSolved", counts for nothing: certify x.

    Parameters
    ----------
    cost : ndarray, shape (n,)
    equal : sparse matrix, shape (m, n)
    equal_to : ndarray, shape (m,)
    at_least : sparse matrix, shape (k, n)
    at_least_to : ndarray, shape (k,)
    cone : sparse matrix, shape (c, n)
    cone_offset : ndarray, shape (c,)
    cone_size : int
    tolerance : float

    Returns
    -------
    ndarray, shape (n,)

    Raises
    ------
    MissingPackageError
        If the solver is not installed.
    """
    try:
        import clarabel
    except ModuleNotFoundError as error:
        raise MissingPackageError(error.name) from None
    from scipy import sparse

    matrix = sparse.vstack((equal, -at_least, -cone), format="csc")
    right = np.concatenate((equal_to, -at_least_to, cone_offset))
    cones = [
        clarabel.ZeroConeT(equal.shape[0]),
        clarabel.NonnegativeConeT(at_least.shape[0]),
        *[clarabel.SecondOrderConeT(cone_size)] * (cone.shape[0] // cone_size),
    ]
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.max_threads = 1
    # Rows depend on each other (every crossed quadrilateral, every inner node): with the default
    # regularisation of 1e-8 the larger programmes stop several per cent short of the optimum.
    settings.static_regularization_constant = 1e-7
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = tolerance
    quadratic = sparse.csc_matrix((matrix.shape[1], matrix.shape[1]))
    answer = clarabel.DefaultSolver(quadratic, cost, matrix, right, cones, settings).solve()
    return np.array(answer.x)


def project(x: FloatArray, equal: Any, equal_to: FloatArray, rounds: int = 6) -> FloatArray:
    """Return the nearest point to x that satisfies equal x = b to rounding.

    The rows may depend on each other: the normal matrix is shifted a little and the step repeated
    until the residual is at the level of rounding.

    Parameters
    ----------
    x : ndarray
    equal : object
    equal_to : ndarray
    rounds : int, optional

    Returns
    -------
    ndarray
    """
    from scipy import sparse
    from scipy.sparse.linalg import splu

    norm = np.sqrt(np.asarray(equal.multiply(equal).sum(axis=1)).ravel())
    rows = sparse.diags(1.0 / np.where(norm > 0, norm, 1.0)) @ equal
    target = equal_to / np.where(norm > 0, norm, 1.0)
    normal = (rows @ rows.T + 1e-9 * sparse.identity(rows.shape[0])).tocsc()
    factor = splu(normal, diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    for _ in range(rounds):
        residual = rows @ x - target
        if np.abs(residual).max(initial=0.0) < 1e-14 * max(1.0, np.abs(x).max()):
            break
        x = x - rows.T @ factor.solve(residual)
    return x
