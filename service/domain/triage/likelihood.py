"""How well each hypothesis fits what was read.

For each hypothesis the readings are jointly normal: mean and covariance of the expected values over the drawn settings,
plus the scatter of instruments. Readings that share a setting (pressure and line temperature) are so not counted twice.
A reading may be wrong with probability `WRONG`: then it lies anywhere in its range and the others stand without it,
which follows from the inverse of the covariance.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from service.domain.triage import mixture
from service.domain.triage.channels import CHANNELS, INDEX, SHARED, SHARED_SCATTER
from service.domain.triage.fluid import Array, Indices
from service.domain.triage.hypotheses import Hypotheses
from service.domain.triage.mixture import Mixture

WRONG = 0.03
LOG_2PI = float(np.log(2.0 * np.pi))
SHARING = frozenset(INDEX[name] for name in SHARED)


@dataclass(frozen=True)
class Predictive:
    """Expected values by channel, hypothesis and draw, and the variance of a reading about each."""

    values: Mixture
    variance: Array  # (channel, hypothesis)

    def of(self, channels: Sequence[int], rows: Indices | slice = slice(None)) -> tuple[Array, Array]:
        """Mean (channel, row) and covariance (channel, channel, row) of readings of these channels."""
        covariance = self.values.covariance(channels, rows)
        for k, n in enumerate(channels):
            covariance[k, k] += self.variance[n][rows]
        shared = [k for k, n in enumerate(channels) if n in SHARING]
        covariance[np.ix_(shared, shared)] += SHARED_SCATTER**2
        return self.values.mean[list(channels)][:, rows], covariance


@dataclass(frozen=True)
class Fit:
    """Logarithm of the likelihood of each hypothesis, of each reading by itself, and how probably each is wrong.

    And what is expected of each reading: its mean, and its variance without what it shares with another.
    """

    total: Array  # (hypothesis)
    each: Array  # (reading, hypothesis)
    wrong: Array  # the same
    mean: Array
    variance: Array


def predictive(values: Mixture, rows: Hypotheses, extra: Mapping[str, Array]) -> Predictive:
    """The expected values with the scatter of instruments, of the hypotheses, and `extra` standard deviations."""
    mean = values.mean
    variance = np.empty_like(mean)
    for n, channel in enumerate(CHANNELS):
        variance[n] = channel.scatter**2 + (channel.relative * mean[n]) ** 2 + extra.get(channel.name, 0.0) ** 2
    for name, spread in rows.spreads.items():
        n = INDEX["return" if name == "rise" else name]
        own = spread * np.maximum(mean[n], 1.0) if name == "pump" else spread  # of a pump it is a share
        variance[n] += own**2
    return Predictive(values, variance)


def joined(a: Predictive, b: Predictive) -> Predictive:
    """The rows of both."""
    return Predictive(mixture.joined(a.values, b.values), np.concatenate([a.variance, b.variance], axis=1))


def log_of_sum(logs: Array) -> Array:
    """The logarithm of the sum along the first axis of what these are the logarithms of."""
    top = np.max(logs, axis=0)
    return np.asarray(np.log(np.exp(logs - top).sum(axis=0)) + top)


def fit(p: Predictive, channels: Sequence[int], values: Array) -> Fit:
    """The likelihoods of the values of these channels."""
    if not channels:
        count = p.variance.shape[1]
        none = np.zeros((0, count))
        return Fit(np.zeros(count), none, none, none, none)
    mean, covariance = p.of(channels)
    off = values[:, None] - mean
    root = _inverse_root(covariance)
    straight = np.einsum("kjr,jr->kr", root, off)
    pulled = np.einsum("kjr,kr->jr", root, straight)
    precision = np.einsum("kjr,kjr->jr", root, root)
    at = np.arange(len(channels))
    log_determinant = -2.0 * np.log(root[at, at]).sum(axis=0)
    plain = -0.5 * ((straight**2).sum(axis=0) + log_determinant + len(channels) * LOG_2PI)
    alone = -0.5 * (pulled**2 / precision - np.log(precision) + LOG_2PI)  # of each, given the others
    widths = np.array([CHANNELS[n].width for n in channels])[:, None]
    without = np.log(WRONG / (1.0 - WRONG)) + plain - alone - np.log(widths)
    total = np.logaddexp(plain, log_of_sum(without))
    variance = covariance[at, at]
    normal = (1.0 - WRONG) * np.exp(-0.5 * (off**2 / variance + np.log(variance) + LOG_2PI))
    shared = np.array([SHARED_SCATTER**2 if n in SHARING else 0.0 for n in channels])[:, None]
    return Fit(total, np.log(normal + WRONG / widths), np.exp(without - total), mean, variance - shared)


def _inverse_root(covariance: Array) -> Array:
    """The inverse of the lower Cholesky factor, of all rows at once (channel, channel, row), grown by one channel."""
    root = np.zeros_like(covariance)
    for k in range(len(covariance)):
        before = root[:k, :k]
        factor = np.einsum("ijr,jr->ir", before, covariance[k, :k])
        scale = 1.0 / np.sqrt(covariance[k, k] - np.einsum("ir,ir->r", factor, factor))
        root[k, :k] = -scale * np.einsum("ir,ijr->jr", factor, before)
        root[k, k] = scale
    return root


def conditioned(
    p: Predictive, rows: Indices, known: Sequence[int], values: Array, wanted: Sequence[int]
) -> tuple[Array, Array]:
    """Mean (wanted, row) and covariance (row, wanted, wanted) of channels, given those that were read."""
    mean, covariance = p.of([*known, *wanted], rows)
    covariance = covariance.transpose(2, 0, 1)
    if not known:
        return mean, covariance
    k = len(known)
    across = covariance[:, k:, :k]
    gain = across @ np.linalg.inv(covariance[:, :k, :k])
    off = (values[:, None] - mean[:k]).T[:, :, None]
    return mean[k:] + (gain @ off)[:, :, 0].T, covariance[:, k:, k:] - gain @ across.transpose(0, 2, 1)
