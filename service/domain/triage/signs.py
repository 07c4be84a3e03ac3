"""The likelihood of what was seen under each hypothesis: by the written table, or by what the model expects."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from service.domain.triage import observations
from service.domain.triage.channels import INDEX
from service.domain.triage.explanation import REGIMES
from service.domain.triage.fluid import Array, Indices
from service.domain.triage.hypotheses import Hypotheses
from service.domain.triage.likelihood import Predictive
from service.domain.triage.sign import FLOOR, Sign

PROBIT = 1.7  # a logistic curve of this slope is within .01 of the normal distribution's

Signs = Sequence[tuple[Sign, bool]]


def chances(sign: Sign, rows: Hypotheses, model: Predictive, chosen: Indices | None = None) -> Array:
    """The probability of a sign under each hypothesis, or under those chosen."""
    at = np.arange(len(rows)) if chosen is None else chosen
    return _chances(sign, rows, model, at, rows.regime[at])


def log_likelihood(signs: Signs, rows: Hypotheses, model: Predictive, other: Indices, apart: Array) -> Array:
    """Of all signs together; `other` is a row's regime when it was looked, with probability `apart`."""
    every = np.arange(len(rows))
    now, then = (
        sum(
            (_log(_chances(sign, rows, model, every, regimes), present) for sign, present in signs),
            np.zeros(len(rows)),
        )
        for regimes in (rows.regime, other)
    )
    return np.logaddexp(now + np.log1p(-apart), then + np.log(np.maximum(apart, 1e-300)))


def _log(chance: Array, present: bool) -> Array:
    return np.asarray(np.log(chance if present else 1.0 - chance))


def _chances(sign: Sign, rows: Hypotheses, model: Predictive, at: Indices, regimes: Indices) -> Array:
    listed, place = rows.distinct
    table = np.array([_of_regimes(sign.code, codes) for codes in listed])
    chance: Array = table[place[at], regimes]
    if sign.follows:
        holds = _holds(sign, rows, model, at)
        if sign.running:
            holds = holds * (regimes == REGIMES.index("running"))
        chance = chance + (sign.then - chance) * holds
    return np.asarray(np.clip(chance, FLOOR, 1.0 - FLOOR))


def _holds(sign: Sign, rows: Hypotheses, model: Predictive, at: Indices) -> Array:
    """The probability that everything holds that the sign follows from."""
    both: Array | float = 1.0
    for channel, limit, width in sign.follows:
        spread = np.hypot(width, rows.spread(channel)[at])[:, None] * np.sign(width)
        over = np.clip(PROBIT * (model.values.values([INDEX[channel]], at)[0] - limit) / spread, -30.0, 30.0)
        both = both / (1.0 + np.exp(-over))
    return np.asarray(both).mean(axis=-1)


@lru_cache(maxsize=16_384)
def _of_regimes(code: str, codes: tuple[str, ...]) -> tuple[float, ...]:
    sign = observations.ANY[code]
    return tuple(sign.probability(codes, regime) for regime in REGIMES)
