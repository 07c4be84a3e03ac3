"""The probability of every explanation: single ones first, then two at once among those that fit best."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property, lru_cache, reduce
from itertools import combinations

import numpy as np

from service.domain.triage import likelihood, observations
from service.domain.triage.channels import CHANNELS, INDEX
from service.domain.triage.circuit import Solved
from service.domain.triage.drivers import drivers, further_scatter
from service.domain.triage.explanation import Node
from service.domain.triage.explanations import BY_CODE, EXPLANATIONS, NOTHING_WRONG, SOMETHING_ELSE
from service.domain.triage.facts import Facts, supplied
from service.domain.triage.fluid import Array
from service.domain.triage.forward import expected
from service.domain.triage.hypotheses import (
    Codes,
    Entry,
    Hypotheses,
    anywhere,
    joined,
    rows,
    severities,
    singles,
    together,
)
from service.domain.triage.likelihood import LOG_2PI, WRONG, Fit, Predictive, fit, log_of_sum, predictive
from service.domain.triage.measured import Measured
from service.domain.triage.question import Seen
from service.domain.triage.signs import Signs, log_likelihood
from service.domain.triage.variants import variants

PAIRED = 5  # of the best single explanations that are tried two at a time
NODES_PAIRED = 2
NOT_PAIRED = frozenset({NOTHING_WRONG, SOMETHING_ELSE, "still_recovering", "lines_just_cleaned"})
BOTH = 1.5  # of the chance of two independent faults: what is neglected has several; common practice, no source
UNSURE = 0.2  # of the priors that is shared out equally: no figures of such units exist, each prior is an estimate
NO_COMPLAINT = {NOTHING_WRONG: 16.0, "still_recovering": 4.0}  # factors where nobody complains
# Evidence under the root of 10 is "not worth more than a bare mention" (Jeffreys, Theory of Probability, 1961).
BARE_MENTION = 10.0**0.5
SPREAD_ELSE = 1.4
ONE_APART = 0.5  # of what is not in the list: one reading apart, the others as of a sound unit
VOLTAGES = ("before", "behind", "at_controller")
ANYWHERE = 0.2  # of the readings of what is not in the list
SEVERITIES = anywhere(EXPLANATIONS)


@dataclass(frozen=True)
class Evaluated:
    """Rows of hypotheses with the logarithm of prior times likelihood, and the channels that were read."""

    rows: Hypotheses
    log_weight: Array
    models: tuple[Predictive, ...]  # of rows one after another
    fit: Fit
    channels: tuple[int, ...]
    values: Array

    @cached_property
    def predictive(self) -> Predictive:
        """The models of all rows as one."""
        return reduce(likelihood.joined, self.models)


@dataclass(frozen=True)
class Posterior(Evaluated):
    """The same with the probability of each row, and the share and prior of each explanation."""

    weight: Array
    share: Mapping[tuple[str, ...], float]
    prior: Mapping[str, float]


def priors(symptom: str | None, shifts: Mapping[str, tuple[float, str]]) -> dict[str, float]:
    """The prior probability of each explanation for a symptom and a unit's history."""
    found = {}
    equal = sum(each.prior for each in EXPLANATIONS) / len(EXPLANATIONS)
    for each in EXPLANATIONS:
        factor = each.symptoms.get(symptom or "", 1.0) * shifts.get(each.code, (1.0, ""))[0]
        if symptom is None:
            factor *= NO_COMPLAINT.get(each.code, 1.0)
        found[each.code] = ((1.0 - UNSURE) * each.prior + UNSURE * equal) * factor
    total = sum(found.values())
    return {code: value / total for code, value in found.items()}


def posterior(
    facts: Facts, measured: Measured, seen: Sequence[Seen], prior: Mapping[str, float], symptom: str | None
) -> Posterior:
    """The probabilities of all explanations."""
    facts = supplied(facts, (measured.values[name] for name in VOLTAGES if name in measured.values))
    signs = observations.signs_of(seen, symptom, measured.signs)
    solved = Solved()
    first = _evaluate(facts, measured, signs, _singly(prior), solved)
    pairs = _pairs(first, prior)
    found = _joined(first, _evaluate(facts, measured, signs, rows(pairs), solved)) if pairs else first
    log_else = float(np.logaddexp(_anything(found, measured, signs, prior), _one_apart(found, prior)))
    return _normalised(found, log_else, prior)


@lru_cache(maxsize=1)
def _equally_likely() -> Hypotheses:
    """Every node of every explanation, by its weight alone."""
    return rows(singles(EXPLANATIONS, dict.fromkeys(BY_CODE, 1.0)))


def _singly(prior: Mapping[str, float]) -> Hypotheses:
    """Every node of every explanation."""
    every = _equally_likely()
    return replace(every, log_prior=every.log_prior + np.log([prior[code] for (code,) in every.listed])[every.place])


def _evaluate(facts: Facts, measured: Measured, signs: Signs, hypotheses: Hypotheses, solved: Solved) -> Evaluated:
    around, log_drivers = drivers(facts, measured, hypotheses)
    found = expected(facts, hypotheses, around, solved)
    spread = variants(hypotheses, found, facts.capillary)
    model = predictive(spread.values, spread.rows, further_scatter(facts, measured, spread))
    channels = tuple(INDEX[name] for name in measured.values if _usable(facts, name))
    values = np.array([measured.values[CHANNELS[n].name] for n in channels])
    fitted = fit(model, channels, values)
    log_weight = spread.rows.log_prior + log_drivers[spread.source] + fitted.total
    log_weight += _taps(measured, spread.rows)
    log_weight += log_likelihood(signs, spread.rows, model, spread.other, spread.apart)
    return Evaluated(spread.rows, log_weight, (model,), fitted, channels, values)


def _taps(measured: Measured, hypotheses: Hypotheses) -> Array:
    """Logarithm of: a tap that is warm alone is among those read, or is not; each node states one of both."""
    effects = hypotheses.effects
    unread = effects["unread"] > 0.0
    alone = (effects["tap"] > 0.0) | (effects["keg_alone"] > 0.0) | (effects["short_gain"] > 0.0)
    missed = measured.taps_missed
    return np.log(np.where(unread, 2.0 * missed, np.where(alone, 2.0 * (1.0 - missed), 1.0)))


def _usable(facts: Facts, channel: str) -> bool:
    """A pressure shows nothing where the refrigerant is unknown."""
    return facts.knows("refrigerant") or channel not in ("suction", "discharge")


def _pairs(first: Evaluated, prior: Mapping[str, float]) -> list[Entry]:
    """Two explanations at a time: the best among each other by their best nodes, the very best with all of every other.

    What hides a second fault from a single explanation is so seen with the first one in place.
    """
    best = _nodes_by_fit(first)
    leader, *others = [code for code in best if code not in NOT_PAIRED]
    entries = []
    for one, other in [*((leader, each) for each in others), *combinations(others[: PAIRED - 1], 2)]:
        if BY_CODE[one].family and BY_CODE[one].family == BY_CODE[other].family:
            continue
        theirs = severities(best[other])[: None if one == leader else NODES_PAIRED]
        entries += _both(one, other, best[one][:NODES_PAIRED], theirs, prior)
    return entries


def _nodes_by_fit(first: Evaluated) -> dict[str, list[Node]]:
    """The nodes of single explanations, those that fit best first, and the explanations in the order of their best."""
    order = np.argsort(-first.log_weight, kind="stable")
    _, at = np.unique(first.rows.node[order], return_index=True)  # a node comes once, with the best of its rows
    found: dict[str, list[Node]] = {}
    for n in order[np.sort(at)].tolist():
        (code,) = first.rows.listed[first.rows.place[n]]
        found.setdefault(code, []).append(first.rows.nodes[first.rows.node[n]])
    return found


def _both(
    one: str, other: str, mine: Sequence[Node], others: Sequence[Node], prior: Mapping[str, float]
) -> list[Entry]:
    """These nodes of two explanations at once, each pair of nodes wherever both can be."""
    chance = chance_of((one, other), prior)
    nodes = (node for a in mine for b in others for node in together(a, b, SEVERITIES[a], SEVERITIES[b]))
    return [((one, other), chance * node.weight, node) for node in nodes]


def chance_of(codes: Codes, prior: Mapping[str, float]) -> float:
    """The prior probability of one explanation, or of two at once."""
    if len(codes) == 1:
        return prior[codes[0]]
    one, other = codes
    link = BY_CODE[one].links.get(other, BY_CODE[other].links.get(one, 1.0))
    return prior[one] * prior[other] * link * BOTH


def _joined(first: Evaluated, second: Evaluated) -> Evaluated:
    return replace(
        first,
        rows=joined(first.rows, second.rows),
        log_weight=np.concatenate([first.log_weight, second.log_weight]),
        models=first.models + second.models,
        fit=Fit(
            **{name: np.concatenate([one, getattr(second.fit, name)], axis=-1) for name, one in vars(first.fit).items()}
        ),
    )


def _anything(found: Evaluated, measured: Measured, signs: Signs, prior: Mapping[str, float]) -> float:
    """Logarithm of: something not in the list, every reading by itself about the mean of all hypotheses, and widely."""
    weight = np.exp(found.rows.log_prior)
    weight /= weight.sum()
    each = found.fit.mean
    mean = each @ weight
    variance = (found.fit.variance + (each - mean[:, None]) ** 2) @ weight
    off = (found.values - mean) / (SPREAD_ELSE * np.sqrt(variance))
    normal = -0.5 * (off**2 + LOG_2PI) - np.log(SPREAD_ELSE * np.sqrt(variance)) + np.log(1.0 - ANYWHERE)
    widths = np.array([CHANNELS[n].width for n in found.channels])
    log_else = float(np.log(prior[SOMETHING_ELSE])) + float(np.logaddexp(normal, np.log(ANYWHERE / widths)).sum())
    for read, middle, spread in (
        (measured.bath, 276.0, 8.0),
        (measured.room, 299.0, 8.0),
        (measured.air_in, measured.room or 299.0, 8.0),
    ):
        if read is not None:
            log_else += -0.5 * (((read - middle) / spread) ** 2 + LOG_2PI) - float(np.log(spread))
    for sign, present in signs:
        chance = min(max(0.5 * (sign.usual + 0.5), 0.15), 0.85)
        log_else += float(np.log(chance if present else 1.0 - chance))
    return log_else


def _normalised(found: Evaluated, log_else: float, prior: Mapping[str, float]) -> Posterior:
    """The probabilities, with that of something not in the list."""
    top = max(float(np.max(found.log_weight)), log_else)
    weights = np.exp(found.log_weight - top)
    total = float(weights.sum()) + float(np.exp(log_else - top))
    share = dict(zip(found.rows.listed, np.bincount(found.rows.place, weights / total).tolist(), strict=True))
    share[SOMETHING_ELSE,] = share.get((SOMETHING_ELSE,), 0.0) + float(np.exp(log_else - top)) / total
    return Posterior(
        **{each.name: getattr(found, each.name) for each in fields(found)},
        weight=weights / total,
        share=_evident(share, prior),
        prior=prior,
    )


def _evident(share: Mapping[Codes, float], prior: Mapping[str, float]) -> dict[Codes, float]:
    """The shares of the explanations; a second one of which nothing shows is counted with the first.

    Nodes of two at once that are not tried fit worse than those that are: they count as evidence of nothing.
    """
    evidence = {codes: part / chance_of(codes, prior) for codes, part in share.items()}
    found: dict[Codes, float] = {}
    for codes, part in share.items():
        main = max(((code,) for code in codes), key=lambda each: evidence.get(each, 0.0))
        shows = len(codes) == 1 or evidence[codes] > BARE_MENTION * evidence[main]
        counted = codes if shows else main
        found[counted] = found.get(counted, 0.0) + part
    return found


def _one_apart(found: Evaluated, prior: Mapping[str, float]) -> float:
    """Logarithm of: the unit is in order but for one reading that no explanation here moves."""
    if not found.channels:
        return float("-inf")
    sound = np.flatnonzero(found.rows.place == found.rows.listed.index((NOTHING_WRONG,)))
    without = found.log_weight[sound] + np.log(np.maximum(found.fit.wrong[:, sound].sum(axis=0), 1e-300))
    chance = ONE_APART * prior[SOMETHING_ELSE] / prior[NOTHING_WRONG]
    return float(log_of_sum(without) + np.log(chance * (1.0 - WRONG) / WRONG / len(found.channels)))
