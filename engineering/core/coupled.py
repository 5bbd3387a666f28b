"""Small coupled systems, one a variant, variants last in memory: what one rod does to the others."""

import numpy as np

from engineering.core.batching import Array


def times(matrix: Array, vector: Array) -> Array:
    """matrix (R, R, V or 1) times vector (R, V) for every variant."""
    found: Array = np.add.reduce(matrix * vector, 1)
    return found


def solved(matrix: Array, right: Array) -> Array:
    """x of matrix x = right for every variant: (n, n, V), (n, V). Elimination without pivots: the matrices are a unit
    matrix plus a small coupling."""
    matrix, x = matrix.copy(), right.copy()
    count = len(x)
    for k in range(count - 1):
        factor = matrix[k + 1 :, k] / matrix[k, k]
        matrix[k + 1 :, k + 1 :] -= factor[:, None] * matrix[k, k + 1 :]
        x[k + 1 :] -= factor * x[k]
    for k in range(count - 1, -1, -1):
        x[k] /= matrix[k, k]
        x[:k] -= matrix[:k, k] * x[k]
    return x


def inverse(matrix: Array) -> Array:
    """Of a matrix (n, n, V) for every variant, for the same kind of matrices."""
    found = matrix.copy()
    for k in range(len(matrix)):
        factor = found[:, k].copy()
        pivot, factor[k] = 1.0 / factor[k], 0.0
        found[:, k], found[k, k] = 0.0, 1.0
        found[k] *= pivot
        found -= factor[:, None] * found[k]
    return found


def without_pushing(matrix: Array, right: Array) -> Array:
    """x ≥ 0 (n, V) of matrix x = right for every variant, where a part at 0 may leave its own line unmet: right less
    than matrix x there. A rod pulls or is slack, it never pushes.

    A linear complementarity problem, solved by turning the first part on the wrong side until none is (Murty 1974,
    least index, from memory); it ends for positive definite matrices with scaled rows, as these are.
    """
    unit, slack, x = np.eye(len(right))[..., None], np.zeros(right.shape, bool), solved(matrix, right)
    nothing = 1e-12 * np.abs(right).max(axis=0, initial=0.0)
    while True:
        wrong = np.where(slack, right - times(matrix, x) > nothing, x < -nothing)
        if not np.count_nonzero(wrong):
            return np.maximum(x, 0.0)
        slack ^= wrong & (np.cumsum(wrong, axis=0) == 1)
        x = solved(np.where(slack[:, None], unit, matrix), np.where(slack, 0.0, right))
