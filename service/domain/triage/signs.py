"""The likelihood of what was seen under each hypothesis: by the written table, or by what the model expects."""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from service.domain.triage import observations
from service.domain.triage.channels import INDEX
from service.domain.triage.explanation import REGIMES, RUNNING
from service.domain.triage.fluid import Array, Indices
from service.domain.triage.hypotheses import Hypotheses
from service.domain.triage.likelihood import Predictive
from service.domain.triage.mixture import over_draws
from service.domain.triage.sign import FLOOR, Sign

PROBIT = 1.7  # a logistic curve of this slope is within .01 of the normal distribution's

Signs = Sequence[tuple[Sign, bool]]


def chances(sign: Sign, rows: Hypotheses, model: Predictive, chosen: Indices | None = None) -> Array:
    """The probability of a sign under each hypothesis, or under those chosen."""
    at = np.arange(len(rows)) if chosen is None else chosen
    holds = _holds(sign, rows, model, at) if sign.follows else None
    return _chances(sign, rows, at, rows.regime[at], holds)


def log_likelihood(signs: Signs, rows: Hypotheses, model: Predictive, other: Indices, apart: Array) -> Array:
    """Of all signs together; `other` is a row's regime when it was looked, with probability `apart`."""
    every = np.arange(len(rows))
    listed, place = rows.listed, rows.place
    tables = [_log_table(sign.code, present, listed) for sign, present in signs if not sign.follows]
    table = sum(tables, np.zeros((len(listed), len(REGIMES))))
    now, then = table[place, rows.regime], table[place, other]
    elsewhere = _with_the_fan_of(other, rows, model)
    for sign, present in signs:
        if sign.follows:
            holds = _holds(sign, rows, model, every)
            now += _log(_chances(sign, rows, every, rows.regime, holds), present)
            if any(channel == "fan" for channel, _, _ in sign.follows):
                holds = _holds(sign, rows, elsewhere, every)
            then += _log(_chances(sign, rows, every, other, holds), present)
    return np.asarray(np.logaddexp(now + np.log1p(-apart), then + np.log(np.maximum(apart, 1e-300))))


def _with_the_fan_of(other: Indices, rows: Hypotheses, model: Predictive) -> Predictive:
    """The model with the fan as it is in the other regime: it stands and turns with the compressor."""
    fan, part = INDEX["fan"], model.values.part.copy()
    part[fan] = np.where(other == rows.regime, part[fan], other == REGIMES.index(RUNNING))
    return replace(model, values=replace(model.values, part=part))


def _log(chance: Array, present: bool) -> Array:
    return np.asarray(np.log(chance if present else 1.0 - chance))


def _chances(sign: Sign, rows: Hypotheses, at: Indices, regimes: Indices, holds: Array | None) -> Array:
    listed, place = rows.listed, rows.place
    chance = np.asarray(_table(sign.code, listed)[place[at], regimes])
    if holds is not None:
        here = holds * (regimes == REGIMES.index(RUNNING)) if sign.running else holds
        chance = chance + (sign.then - chance) * here
    return np.asarray(np.clip(chance, FLOOR, 1.0 - FLOOR))


def _holds(sign: Sign, rows: Hypotheses, model: Predictive, at: Indices) -> Array:
    """The probability that everything holds that the sign follows from."""
    both: Array | float = 1.0
    differ, back = model.values.alike([INDEX[channel] for channel, _, _ in sign.follows], at)
    for channel, limit, width in sign.follows:
        slope = PROBIT * np.sign(width) / np.hypot(width, rows.spread(channel)[differ])[:, None]
        over = (model.values.values([INDEX[channel]], differ)[0] - limit) * slope
        both = both / (1.0 + np.exp(-np.minimum(np.maximum(over, -30.0), 30.0)))
    return over_draws(np.asarray(both))[back]


@lru_cache(maxsize=1024)
def _log_table(code: str, present: bool, listed: tuple[tuple[str, ...], ...]) -> Array:
    """The logarithm of the likelihood of a sign by codes and regime."""
    return _log(np.clip(_table(code, listed), FLOOR, 1.0 - FLOOR), present)


@lru_cache(maxsize=1024)
def _table(code: str, listed: tuple[tuple[str, ...], ...]) -> Array:
    """The probability of a sign by codes and regime."""
    return np.array([_of_regimes(code, codes) for codes in listed])


@lru_cache(maxsize=16_384)
def _of_regimes(code: str, codes: tuple[str, ...]) -> tuple[float, ...]:
    sign = observations.ANY[code]
    return tuple(sign.probability(codes, regime) for regime in REGIMES)
