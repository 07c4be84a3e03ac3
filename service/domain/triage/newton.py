"""Newton's method for three unknowns over arrays: every element is an equation system of its own.

Elements that have settled are left out of further rounds. What has not settled after a few wide steps jumps to and fro
over a bend of its equations: it starts again with narrow steps, each narrower where it turns back.
"""

from collections.abc import Callable, Sequence
from typing import Protocol, Self, TypeVar

import numpy as np

from service.domain.triage.fluid import Array, Indices

SETTLED = 1e-3  # of the residuals: an element within it takes its last step, which leaves next to nothing
QUICK, CAREFUL = 10, 40  # rounds with wide steps, and with narrow ones
NARROW, NARROWER, WIDER = 0.3, 0.5, 1.2  # of the widest step: at first, after turning back, after going on
LEFT_OUT = 0.2  # share of the elements that has settled from which on it is worth while to leave them out
NUDGE = np.array((0.02, 0.02, 0.001))
POINTS = np.concatenate([np.zeros((3, 1)), np.diag(NUDGE)], axis=1)[:, :, None]  # (unknown, point, element)
FEW = 1000

Unknowns = tuple[Array, Array, Array]


class State(Protocol):
    """What is known of a system at its unknowns."""

    @property
    def residuals(self) -> Unknowns:
        """What is left of its equations."""


S = TypeVar("S", bound=State)


class System(Protocol[S]):
    """Equation systems, one an element."""

    @property
    def balance(self) -> Callable[..., S]:
        """Gives the state at the unknowns."""

    def moved(self, state: S, unknown: int, by: float, /) -> S:
        """The state where one unknown is moved."""

    def some(self, which: Indices) -> Self:
        """The systems of these elements."""


def newton(system: System[S], start: Array, bounds: Array, widest: Sequence[float]) -> Array:
    """The unknowns (unknown, element) at which the residuals vanish.

    `bounds` are the least and the greatest unknowns, `widest` the widest step of each.
    """
    steps = np.repeat(np.array(widest)[:, None], start.shape[1], axis=1)
    found, left = _rounds(system, start, bounds, steps, QUICK, careful=False)
    if left.size:
        again = system.some(left), start[:, left], bounds[..., left], steps[:, left]
        found[:, left], _ = _rounds(*again, CAREFUL, careful=True)
    return found


def _rounds(
    system: System[S], start: Array, bounds: Array, widest: Array, rounds: int, *, careful: bool
) -> tuple[Array, Indices]:
    """The unknowns after these rounds, and which elements may not have settled."""
    found, left, at = start.copy(), np.arange(start.shape[1]), start
    wide, last = NARROW * widest if careful else widest, np.zeros_like(start)
    for _ in range(rounds):
        here, slopes = _evaluated(system, at)
        step, off = _step(here, slopes), np.abs(here).max(axis=0)
        if careful:
            wide = np.where(step * last < 0.0, NARROWER * wide, np.minimum(WIDER * wide, widest))
        moved = at - np.minimum(np.maximum(step, -wide), wide)
        at, last = np.minimum(np.maximum(moved, bounds[0]), bounds[1]), step
        moving = off > SETTLED
        if np.count_nonzero(moving) > (1.0 - LEFT_OUT) * moving.size:
            continue
        found[:, left] = at
        still = np.flatnonzero(moving)
        left = left[still]
        if not still.size:
            return found, left
        system, bounds = system.some(still), bounds[..., still]
        at, wide, widest, last = (each[:, still] for each in (at, wide, widest, last))
    found[:, left] = at
    return found, left


def _evaluated(system: System[S], at: Array) -> tuple[Array, Array]:
    """Residuals (equation, element), and by differences their slopes (unknown, equation, element).

    Few elements are evaluated at all points at once, for NumPy's calls cost more than the elements do then; of many
    only what depends on the unknown that is moved.
    """
    if at.shape[1] <= FEW:
        at_once = np.array(system.balance(*(at[:, None] + POINTS)).residuals).swapaxes(0, 1)
        return at_once[0], (at_once[1:] - at_once[0]) / NUDGE[:, None, None]
    state = system.balance(*at)
    here = np.array(state.residuals)
    moved = np.array([system.moved(state, n, by).residuals for n, by in enumerate(NUDGE.tolist())])
    return here, (moved - here) / NUDGE[:, None, None]


def _step(here: Array, slopes: Array) -> Array:
    """How far the unknowns are off, by Cramer's rule."""
    a, b, c = slopes
    rows = (_cross(b, c), _cross(c, a), _cross(a, b))
    whole = _along(a, rows[0])
    return np.array([_along(row, here) for row in rows]) / np.where(np.abs(whole) < 1e-12, 1e-12, whole)


def _cross(x: Array, y: Array) -> Unknowns:
    return x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0]


def _along(x: Array | Unknowns, y: Array | Unknowns) -> Array:
    return np.asarray(x[0] * y[0] + x[1] * y[1] + x[2] * y[2])
