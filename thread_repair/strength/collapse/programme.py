"""Second-order cone programmes: rows, the call of the solver, and the projection after it."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...arrays import FloatArray
from ...errors import MissingPackageError
from .mesh import IntArray


class Rows:
    """Rows of a sparse matrix and their right-hand sides, gathered many at a time."""

    def __init__(self, columns: int) -> None:
        self.columns = columns
        self.right = np.zeros(0)
        self._entries: list[tuple[IntArray, FloatArray]] = []

    def add(
        self, columns: IntArray, values: FloatArray | float, to: FloatArray | float = 0.0
    ) -> None:
        """Append one row per row of `columns` (repeated columns add up)."""
        self._entries.append((columns, np.broadcast_to(values, columns.shape)))
        self.right = np.concatenate((self.right, np.broadcast_to(to, len(columns))))

    def matrix(self) -> Any:
        """Return the matrix, compressed by columns."""
        from scipy import sparse

        columns, values = (
            np.concatenate([each.ravel() for each in side])
            for side in zip(*self._entries, strict=True)
        )
        widths = np.concatenate([np.full(*each.shape) for each, _ in self._entries])
        ends = np.concatenate(((0,), np.cumsum(widths)))
        rows = sparse.csr_matrix((values, columns, ends), shape=(len(widths), self.columns))
        rows.sum_duplicates()
        return rows.tocsc()


def solve(
    cost: FloatArray, equal: Rows, at_least: Rows, cones: Sequence[Rows], *, tolerance: float
) -> FloatArray:
    """Minimise cost x with equal x = b, at_least x >= c and cone x + offset in cones.

    The solver's own word, which is often "AlmostSolved", counts for nothing: certify x.

    Parameters
    ----------
    cost : ndarray, shape (n,)
    equal, at_least : Rows
    cones : sequence of Rows
        A cone is the like row of each: the first is at least as long as the others together.
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

    size, count = len(cones), len(cones[0].right)
    by_cone = np.arange(size * count).reshape(size, count).T.ravel()
    cone = sparse.vstack([each.matrix() for each in cones], format="csr")[by_cone]
    matrix = sparse.vstack((equal.matrix(), -at_least.matrix(), -cone), format="csc")
    beside = np.column_stack([each.right for each in cones]).ravel()
    right = np.concatenate((equal.right, -at_least.right, beside))
    kinds = [
        clarabel.ZeroConeT(len(equal.right)),
        clarabel.NonnegativeConeT(len(at_least.right)),
        *[clarabel.SecondOrderConeT(size)] * count,
    ]
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.max_threads = 1
    # Rows depend on each other (every crossed quadrilateral, every inner node): with the default
    # regularisation of 1e-8 the larger programmes stop several per cent short of the optimum.
    settings.static_regularization_constant = 1e-7
    # What refinement adds to each step lies below the tolerance, and takes a third of the time.
    settings.iterative_refinement_enable = False
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = tolerance
    quadratic = sparse.csc_matrix((matrix.shape[1], matrix.shape[1]))
    answer = clarabel.DefaultSolver(quadratic, cost, matrix, right, kinds, settings).solve()
    return np.array(answer.x)


def project(x: FloatArray, equal: Any) -> FloatArray:
    """Return the nearest point to x that satisfies equal x = 0 to rounding.

    The rows may depend on each other: the normal matrix is shifted a little and the step repeated
    until the residual is at the level of rounding.

    Parameters
    ----------
    x : ndarray
    equal : sparse matrix

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
    for _ in range(6):
        residual = rows @ x
        if np.abs(residual).max(initial=0.0) < 1e-14 * max(1.0, np.abs(x).max()):
            break
        x = x - rows.T @ factor.solve(residual)
    return x
