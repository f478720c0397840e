"""Second-order cone programmes: rows, the call of the solver, and the projection after it."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...arrays import FloatArray
from ...errors import MissingPackageError
from .mesh import IntArray


class Rows:
    """Rows of a sparse matrix and their right-hand sides, gathered many at a time."""

    def __init__(self, columns: int) -> None:
        self.columns = columns
        self.count = 0
        self._entries: list[tuple[IntArray, IntArray, FloatArray]] = []
        self._right: list[FloatArray] = []

    def add(self, columns: IntArray, values: FloatArray, to: FloatArray | float = 0.0) -> None:
        """Append one row per row of `columns` (repeated columns add up)."""
        self.put(self.count + np.arange(len(columns)), columns, values)
        self.grow(np.broadcast_to(to, len(columns)))

    def put(self, rows: IntArray, columns: IntArray, values: FloatArray) -> None:
        """Write entries into rows that are still to `grow`."""
        shape = columns.shape
        whole = (np.broadcast_to(rows[:, None], shape), columns, np.broadcast_to(values, shape))
        self._entries.append(tuple(each.ravel() for each in whole))  # type: ignore[arg-type]

    def grow(self, right: FloatArray) -> None:
        """Append rows by their right-hand sides."""
        self._right.append(right)
        self.count += len(right)

    @property
    def right(self) -> FloatArray:
        """Right-hand side of each row."""
        return np.concatenate((np.zeros(0), *self._right))

    def matrix(self) -> Any:
        """Return the matrix, compressed by columns."""
        from scipy import sparse

        if not self._entries:
            return sparse.csc_matrix((self.count, self.columns))
        rows, columns, values = (np.concatenate(each) for each in zip(*self._entries, strict=True))
        return sparse.csc_matrix((values, (rows, columns)), shape=(self.count, self.columns))


def solve(
    cost: FloatArray, equal: Rows, at_least: Rows, cones: Rows, *, tolerance: float
) -> FloatArray:
    """Minimise cost x with equal x = b, at_least x >= c and cone x + offset in cones of four rows.

    The solver's own word, which is often "AlmostSolved", counts for nothing: certify x.

    Parameters
    ----------
    cost : ndarray, shape (n,)
    equal, at_least, cones : Rows
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

    matrix = sparse.vstack((equal.matrix(), -at_least.matrix(), -cones.matrix()), format="csc")
    right = np.concatenate((equal.right, -at_least.right, cones.right))
    kinds = [
        clarabel.ZeroConeT(equal.count),
        clarabel.NonnegativeConeT(at_least.count),
        *[clarabel.SecondOrderConeT(4)] * (cones.count // 4),
    ]
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.max_threads = 1
    # Rows depend on each other (every crossed quadrilateral, every inner node): with the default
    # regularisation of 1e-8 the larger programmes stop several per cent short of the optimum.
    settings.static_regularization_constant = 1e-7
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = tolerance
    quadratic = sparse.csc_matrix((matrix.shape[1], matrix.shape[1]))
    answer = clarabel.DefaultSolver(quadratic, cost, matrix, right, kinds, settings).solve()
    return np.array(answer.x)


def project(x: FloatArray, equal: Any, rounds: int = 6) -> FloatArray:
    """Return the nearest point to x that satisfies equal x = 0 to rounding.

    The rows may depend on each other: the normal matrix is shifted a little and the step repeated
    until the residual is at the level of rounding.

    Parameters
    ----------
    x : ndarray
    equal : sparse matrix
    rounds : int, optional

    Returns
    -------
    ndarray
    """
    from scipy import sparse
    from scipy.sparse.linalg import splu

    norm = np.sqrt(np.asarray(equal.multiply(equal).sum(axis=1)).ravel())
    rows = sparse.diags(1.0 / np.where(norm > 0, norm, 1.0)) @ equal
    normal = (rows @ rows.T + 1e-9 * sparse.identity(rows.shape[0])).tocsc()
    factor = splu(normal, diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    for _ in range(rounds):
        residual = rows @ x
        if np.abs(residual).max(initial=0.0) < 1e-14 * max(1.0, np.abs(x).max()):
            break
        x = x - rows.T @ factor.solve(residual)
    return x
