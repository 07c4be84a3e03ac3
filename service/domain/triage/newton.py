"""Newton's method for three unknowns over arrays: every element is an equation system of its own."""

from collections.abc import Callable

import numpy as np

from service.domain.triage.fluid import Array

FULL_ROUNDS, CHORD_ROUNDS = 4, 6  # with new slopes, and with the last ones
WIDEST = (8.0, 10.0, 0.25)  # step of each unknown
NUDGE = (0.02, 0.02, 0.001)

Unknowns = tuple[Array, Array, Array]


def newton(residuals: Callable[..., Unknowns], start: Unknowns, lower: Unknowns, upper: Unknowns) -> Unknowns:
    """Newton's method with differences, each step and each unknown kept within bounds."""
    at = start
    columns: list[list[Array]] = []
    for turn in range(FULL_ROUNDS + CHORD_ROUNDS):
        here = residuals(*at)
        if turn < FULL_ROUNDS:
            columns = _slopes(residuals, at, here)
        step = _solve(columns, here)
        at = tuple(  # type: ignore[assignment]  # three arrays again
            _within(value + _within(move, -far, far), low, high)
            for value, move, far, low, high in zip(at, step, WIDEST, lower, upper, strict=True)
        )
    return at


def _within(values: Array, low: Array | float, high: Array | float) -> Array:
    return np.asarray(np.minimum(np.maximum(values, low), high))


def _slopes(residuals: Callable[..., Unknowns], at: Unknowns, here: Unknowns) -> list[list[Array]]:
    columns = []
    for k, nudge in enumerate(NUDGE):
        moved = [value + nudge if k == n else value for n, value in enumerate(at)]
        columns.append([(after - before) / nudge for after, before in zip(residuals(*moved), here, strict=True)])
    return columns


def _solve(columns: list[list[Array]], here: Unknowns) -> Unknowns:
    """Cramer's rule for three unknowns over arrays: J step = -residuals."""
    a, b, c = columns
    r = [-each for each in here]

    def determinant(x: list[Array], y: list[Array], z: list[Array]) -> Array:
        return (
            x[0] * (y[1] * z[2] - y[2] * z[1]) - x[1] * (y[0] * z[2] - y[2] * z[0]) + x[2] * (y[0] * z[1] - y[1] * z[0])
        )

    whole = determinant(a, b, c)
    whole = np.where(np.abs(whole) < 1e-12, 1e-12, whole)
    return determinant(r, b, c) / whole, determinant(a, r, c) / whole, determinant(a, b, r) / whole
