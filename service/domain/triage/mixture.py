"""Expected values of hypotheses between rest and steady running, worked out for those that are asked for.

A value is that at rest and a part of the way to steady running. Mean and variance over the draws follow from those of
the hypotheses from which the variants were made, which are a quarter as many.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from service.domain.triage.fluid import Array, Indices

Every = slice(None)


@dataclass(frozen=True)
class Mixture:
    """Values by channel, hypothesis and draw; of each row the hypothesis it comes from and how far each channel is."""

    resting: Array  # (channel, hypothesis, draw)
    moves: Mapping[int, int]  # the channels that differ in running, and the place of each in `moved`
    moved: Array  # of those the values in running, less those at rest
    source: Indices  # (row)
    part: Array  # (channel, row), 0 where a channel does not move

    def values(self, channels: Sequence[int], rows: Indices | slice = Every) -> Array:
        """The values (channel, row, draw) of these channels and rows."""
        at = self.source[rows]
        found = self.resting[list(channels)][:, at]
        for k, n in enumerate(channels):
            if n in self.moves:
                found[k] += self.part[n][rows, None] * self.moved[self.moves[n], at]
        return found

    def alike(self, channels: Sequence[int], rows: Indices) -> tuple[Indices, Indices]:
        """The first of neighbouring rows that are equal in these channels, and for each row its place among those."""
        lines = np.array([self.source[rows], *(self.part[n][rows] for n in channels if n in self.moves)])
        differ = np.append(True, (lines[:, 1:] != lines[:, :-1]).any(axis=0))
        return rows[differ], np.cumsum(differ) - 1

    @cached_property
    def mean(self) -> Array:
        """Over the draws, (channel, row)."""
        found = over_draws(self.resting)[:, self.source]
        for n, moved in self.moved_mean.items():
            found[n] += self.part[n] * moved[self.source]
        return found

    @cached_property
    def moved_mean(self) -> dict[int, Array]:
        """Over the draws, of each hypothesis, by the channels that move."""
        found = over_draws(self.moved)
        return {n: found[place] for n, place in self.moves.items()}

    def covariance(self, channels: Sequence[int], rows: Indices | slice = Every) -> Array:
        """Over the draws, of these channels and rows (channel, channel, row)."""
        used, back = np.unique(self.source[rows], return_inverse=True)
        count, part = len(channels), self.part[list(channels)][:, rows]
        moves = np.array([n in self.moves for n in channels], dtype=bool)
        moving = [self.moves[n] for n in channels if n in self.moves]  # a channel may come twice
        products = _products(np.concatenate([self.resting[list(channels)][:, used], self.moved[moving][:, used]]))
        place = count - 1 + np.cumsum(moves)  # of those that move, among the products
        found = np.empty((count, count, back.size))
        for k in range(count):
            before = np.flatnonzero(moves[: k + 1])
            line, across = (products[k, which].take(back, axis=-1) for which in (slice(k + 1), place[before]))
            if moves[k]:
                line += products[place[k], : k + 1].take(back, axis=-1) * part[k]
                across += products[place[k], place[before]].take(back, axis=-1) * part[k]
            across *= part[before]
            line[before] += across
            found[k, : k + 1] = found[: k + 1, k] = line
        return found


def over_draws(values: Array) -> Array:
    """The mean over the draws, the last axis; NumPy's own is slow along a short one."""
    return np.asarray(np.einsum("...d->...", values) / values.shape[-1])


def _products(values: Array) -> Array:
    """The covariances over the draws (channel, channel, hypothesis); hypotheses lie side by side for what follows."""
    off = (values - over_draws(values)[..., None]).transpose(1, 0, 2)
    return np.asarray(np.ascontiguousarray((off @ off.transpose(0, 2, 1)).transpose(1, 2, 0)) / values.shape[-1])


def joined(a: Mixture, b: Mixture) -> Mixture:
    """The rows of both."""
    return Mixture(
        np.concatenate([a.resting, b.resting], axis=1),
        a.moves,
        np.concatenate([a.moved, b.moved], axis=1),
        np.concatenate([a.source, b.source + a.resting.shape[1]]),
        np.concatenate([a.part, b.part], axis=1),
    )
