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
        return np.asarray(self.resting.mean(axis=-1)[:, self.source] + self.part * self.moved_mean[:, self.source])

    @cached_property
    def moved_mean(self) -> Array:
        """Over the draws, (channel, hypothesis)."""
        return np.asarray(self.moved.mean(axis=-1))

    def covariance(self, channels: Sequence[int], rows: Indices | slice = Every) -> Array:
        """Over the draws, of these channels and rows (channel, channel, row)."""
        used, back = np.unique(self.source[rows], return_inverse=True)
        at = [k for k, n in enumerate(channels) if self.part[n].any()]  # of those that move; a channel may come twice
        moving = [channels[k] for k in at]
        values = np.concatenate([self.resting[list(channels)][:, used], self.moved[moving][:, used]])
        values = (values - values.mean(axis=-1, keepdims=True)).transpose(1, 0, 2)
        products = (values @ values.transpose(0, 2, 1) / values.shape[-1]).transpose(1, 2, 0)[..., back]
        count, part = len(channels), self.part[moving][:, rows]
        found, across = products[:count, :count], products[:count, count:] * part
        found[:, at] += across
        found[at] += across.transpose(1, 0, 2)
        found[np.ix_(at, at)] += products[count:, count:] * part * part[:, None]
        return np.asarray(found)


def joined(a: Mixture, b: Mixture) -> Mixture:
    """The rows of both."""
    return Mixture(
        np.concatenate([a.resting, b.resting], axis=1),
        np.concatenate([a.moved, b.moved], axis=1),
        np.concatenate([a.source, b.source + a.resting.shape[1]]),
        np.concatenate([a.part, b.part], axis=1),
    )
