"""The next measurement: information gained about the explanation for its minutes and its risk.

Information is mutual information in bits between the main cause and the outcome, for the hypotheses as they stand: of
signs by summing over their outcomes, of a figure by integrating over its density. The main cause of two explanations at
once is the likelier of them. A greedy choice; figures that only inform together (pressure and line temperature, supply
and return) are one step; of a step's signs only those are asked for that inform.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from service.domain.record.fleet import Unit
from service.domain.triage import observations
from service.domain.triage.channels import INDEX
from service.domain.triage.fluid import Array, Indices
from service.domain.triage.likelihood import conditioned
from service.domain.triage.measured import of_one_moment
from service.domain.triage.posterior import Posterior
from service.domain.triage.question import Question, Step
from service.domain.triage.signs import chances
from service.domain.triage.steps import PUMPS, RISK_MINUTES, Measurement, Wanted, component_in_place, possible

NEGLIGIBLE = 2e-4  # share of a hypothesis that is left out
GRID = 41
LEAST_BITS = 0.005
LISTED = 5
NOTED = 0.5  # minutes to note each reading or sign, common practice, no source
WORTH_ASKING = 0.15  # of the information of the best sign of a step
ON_DISPLAY = frozenset({"display_temperature", "read_set_point"})


@dataclass(frozen=True)
class _Left:
    """The hypotheses that still count: their rows, shares, and the main cause of each as a row of zeros and one."""

    rows: Indices
    weight: Array
    member: Array  # (explanation, row)


def next_steps(p: Posterior, question: Question) -> tuple[Step, ...]:
    """The measurements worth making, best first."""
    left = _left(p)
    return _Open(p, question, left.rows).steps(left)


def showing(p: Posterior, question: Question, codes: Sequence[str]) -> list[str | None]:
    """For each of these explanations the step that best shows whether it is there, whatever else is."""
    left = _left(p)
    still = _Open(p, question, left.rows)
    found: list[str | None] = []
    for code in codes:
        there = np.array([code in p.rows.codes[n] for n in left.rows], dtype=float)
        steps = still.steps(_Left(left.rows, left.weight, np.array([there, 1.0 - there])))
        found.append(steps[0].code if steps else None)
    return found


class _Open:
    """The measurements that are still open, and what is expected of their figures."""

    def __init__(self, p: Posterior, question: Question, rows: Indices) -> None:
        done, self._answered = _done(question), {each.code: each.present for each in question.seen}
        self._p, self._unit = p, question.unit
        self._usable = [each for each in possible(question.unit) if not _made(each, done, self._answered)]
        wanted = sorted({INDEX[name] for each in self._usable for name in each.figure})
        self._mean, self._covariance = conditioned(p.predictive, rows, p.channels, p.values, wanted)
        self._known = {n: k for k, n in enumerate(wanted)}

    def steps(self, left: _Left) -> tuple[Step, ...]:
        """Those that inform about the members of the hypotheses left, best first."""
        found = []
        for each in self._usable:
            bits = _of_figure(each, left, self._mean, self._covariance, self._known) if each.figure else 0.0
            signs = _worth_asking([sign for sign in each.signs if sign not in self._answered], self._p, left)
            bits = max(bits, _of_signs(signs, self._p, left))
            if bits >= LEAST_BITS:
                cost = each.minutes + RISK_MINUTES[each.risk] + NOTED * (len(each.readings) + len(signs))
                found.append((bits / cost, bits, each, signs))
        found.sort(key=lambda item: (-item[0], item[2].code))
        return tuple(_step(each, bits, self._unit, signs) for _, bits, each, signs in found[:LISTED])


def _left(p: Posterior) -> _Left:
    rows = np.flatnonzero(p.weight > NEGLIGIBLE)
    if rows.size:
        weight = p.weight[rows] / p.weight[rows].sum()
    else:  # what was read is far from every explanation; their weights may all be 0
        rows, weight = np.array([int(np.argmax(p.log_weight))]), np.ones(1)
    total = Counter[str]()
    for n, share in zip(rows.tolist(), weight.tolist(), strict=True):
        total.update(dict.fromkeys(p.rows.codes[n], share))
    main = [max(p.rows.codes[n], key=lambda code: (total[code], code)) for n in rows]
    member = np.array([[1.0 if code == each else 0.0 for each in main] for code in sorted(set(main))])
    return _Left(rows, weight, member)


def _done(question: Question) -> Counter[Wanted]:
    """How often each quantity was read, anywhere and at each kind of component."""
    kinds, found = question.unit.kinds, Counter[Wanted]()
    for reading in of_one_moment(question.readings):
        kind = kinds.get(reading.component or "")
        found.update({(reading.quantity, None), (reading.quantity, "pump" if kind in PUMPS else kind)})
    return found


def _made(each: Measurement, done: Counter[Wanted], answered: Mapping[str, bool]) -> bool:
    readings = all(done[wanted] >= count for wanted, count in Counter(each.readings).items())
    signs = all(sign in answered for sign in each.signs)
    dark = answered.get("display_dark", False) and each.code in ON_DISPLAY
    return dark or (readings and bool(each.readings)) or (signs and bool(each.signs))


def _of_figure(each: Measurement, left: _Left, mean: Array, covariance: Array, known: Mapping[int, int]) -> float:
    """Bits of a figure, a weighted sum of channels."""
    at = [known[INDEX[name]] for name in each.figure]
    weights = np.array(list(each.figure.values()))
    middle = weights @ mean[at]
    block = covariance[:, at][:, :, at]
    spread = np.sqrt(np.maximum((block @ weights) @ weights, 1e-30))
    grid = np.linspace((middle - 3.5 * spread).min(), (middle + 3.5 * spread).max(), GRID)
    density = np.exp(-0.5 * ((grid[:, None] - middle) / spread) ** 2) / spread
    return _information(density * left.weight, left.member)


def _worth_asking(signs: Sequence[str], p: Posterior, left: _Left) -> list[str]:
    """The signs of a step that inform by themselves, against the best of them."""
    bits = {sign: _of_signs([sign], p, left) for sign in signs}
    best = max(bits.values(), default=0.0)
    return [sign for sign in signs if bits[sign] >= WORTH_ASKING * best]


def _of_signs(signs: Sequence[str], p: Posterior, left: _Left) -> float:
    if not signs:
        return 0.0
    present = [chances(observations.BY_CODE[sign], p.rows, p.predictive, left.rows) for sign in signs]
    outcomes = []
    for answer in product((True, False), repeat=len(signs)):
        chance = left.weight.copy()
        for yes, here in zip(answer, present, strict=True):
            chance = chance * (here if yes else 1.0 - here)
        outcomes.append(chance)
    return _information(np.array(outcomes), left.member)


def _information(joint: Array, member: Array) -> float:
    """Mutual information in bits of a table (outcome, row), its rows gathered by explanation."""
    table = joint @ member.T
    table = table / table.sum()
    outcome, explained = table.sum(axis=1, keepdims=True), table.sum(axis=0, keepdims=True)
    expected = np.maximum(outcome * explained, 1e-300)
    return float((table * np.log2(np.maximum(table, 1e-300) / expected)).sum())


def _step(each: Measurement, bits: float, unit: Unit, signs: Sequence[str]) -> Step:
    return Step(
        code=each.code,
        do=each.do,
        why=f"It would answer {round(bits, 2):g} of the open question, in bits.",
        minutes=each.minutes,
        risk=each.risk,
        bits=round(bits, 3),
        readings=tuple((quantity, component_in_place(unit, kind)) for quantity, kind in dict.fromkeys(each.readings)),
        observations=tuple(signs),
    )
