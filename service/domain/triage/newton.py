"""Newton's method for three unknowns over arrays: every element is an equation system of its own."""

from collections.abc import Callable
from typing import Protocol, TypeVar

import numpy as np

from service.domain.triage.fluid import Array

FULL_ROUNDS, CHORD_ROUNDS = 4, 6  # with new slopes, and with the last ones
WIDEST = (8.0, 10.0, 0.25)  # step of each unknown
NUDGE = (0.02, 0.02, 0.001)

Unknowns = tuple[Array, Array, Array]


class State(Protocol):
    """What is known of a system at its unknowns."""

    @property
    def residuals(self) -> Unknowns:
        """What is left of its equations."""


S = TypeVar("S", bound=State)
Bounds = tuple[Unknowns, Unknowns]


def newton(find: Callable[..., S], moved: Callable[[S, int, float], S], start: Unknowns, bounds: Bounds) -> Array:
    """Newton's method with differences, each step and each unknown kept within bounds.

    `find` gives the state at the unknowns, `moved` that where one of them is moved.
    """
    at, inverse = np.array(start), np.empty(0)
    low, high = np.array(bounds)
    far = np.array(WIDEST).reshape(-1, *(1 for _ in start[0].shape))
    for turn in range(FULL_ROUNDS + CHORD_ROUNDS):
        here = find(*at)
        if turn < FULL_ROUNDS:
            inverse = _inverse(*(_slopes(moved(here, n, nudge), here, nudge) for n, nudge in enumerate(NUDGE)))
        step = np.einsum("ij...,j...->i...", inverse, np.array(here.residuals))
        at = np.minimum(np.maximum(at - np.minimum(np.maximum(step, -far), far), low), high)
    return at


def _slopes(moved: State, here: State, nudge: float) -> Unknowns:
    a, b, c = ((after - before) / nudge for after, before in zip(moved.residuals, here.residuals, strict=True))
    return a, b, c


def _inverse(a: Unknowns, b: Unknowns, c: Unknowns) -> Array:
    """The inverse of the matrix of these columns, over arrays, by Cramer's rule."""
    rows = np.array([_cross(b, c), _cross(c, a), _cross(a, b)])
    whole = rows[0, 0] * a[0] + rows[0, 1] * a[1] + rows[0, 2] * a[2]
    return np.asarray(rows / np.where(np.abs(whole) < 1e-12, 1e-12, whole))


def _cross(x: Unknowns, y: Unknowns) -> Unknowns:
    return x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0]
