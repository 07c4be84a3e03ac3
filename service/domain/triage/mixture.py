"""Expected values of hypotheses between rest and steady running, worked out for those that are asked for.

A value is that at rest and a part of the way to steady running. Mean and variance over the draws follow from those of
the hypotheses from which the variants were made, which are a quarter as many.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from service.domain.triage.fluid import Array, Indices

Every = slice(None)


@dataclass(frozen=True)
class Mixture:
    """Values by channel, hypothesis and draw; of each row the hypothesis it comes from and how far each channel is."""

    resting: Array  # (channel, hypothesis, draw)
    moved: Array  # the same in running, less that at rest
    source: Indices  # (row)
    part: Array  # (channel, row)

    def values(self, channels: Sequence[int], rows: Indices | slice = Every) -> Array:
        """The values (channel, row, draw) of these channels and rows."""
        listed, at = np.array(channels, dtype=np.intp)[:, None], self.source[rows]
        part = self.part[list(channels)][:, rows, None]
        return np.asarray(self.resting[listed, at] + part * self.moved[listed, at])

    @cached_property
    def mean(self) -> Array:
        """Over the draws, (channel, row)."""
        resting, moved = self.resting.mean(axis=-1), self.moved.mean(axis=-1)
        return np.asarray(resting[:, self.source] + self.part * moved[:, self.source])

    def variance(self, channels: Sequence[int]) -> Array:
        """Over the draws, of these channels (channel, row)."""
        listed = list(channels)
        resting, moved = self.resting[listed], self.moved[listed]
        resting = resting - resting.mean(axis=-1, keepdims=True)
        moved = moved - moved.mean(axis=-1, keepdims=True)
        part = self.part[listed]
        squares = (
            (a * b).mean(axis=-1)[:, self.source] for a, b in ((resting, resting), (resting, moved), (moved, moved))
        )
        at_rest, across, on_the_way = squares
        return np.asarray(at_rest + part * (2.0 * across + part * on_the_way))


def joined(a: Mixture, b: Mixture) -> Mixture:
    """The rows of both."""
    return Mixture(
        np.concatenate([a.resting, b.resting], axis=1),
        np.concatenate([a.moved, b.moved], axis=1),
        np.concatenate([a.source, b.source + a.resting.shape[1]]),
        np.concatenate([a.part, b.part], axis=1),
    )
