"""Triage of a question: the explanations with their probabilities, what is ruled out, and what to measure next."""

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from service.domain.assessment.doubt import wrong_units
from service.domain.maintenance.catalogue import LICENSED, LOCKOUT, REFRIGERANT
from service.domain.quantities import Quantity, format_quantity
from service.domain.record.visits import Reading
from service.domain.triage import observations
from service.domain.triage.channels import CHANNELS, Channel
from service.domain.triage.derived import COMPLAINT
from service.domain.triage.explanations import BY_CODE, SOMETHING_ELSE
from service.domain.triage.facts import facts_of
from service.domain.triage.fluid import Array
from service.domain.triage.hypotheses import Codes
from service.domain.triage.measured import Measured, measure, of_one_moment
from service.domain.triage.naming import named
from service.domain.triage.next_step import next_steps, showing
from service.domain.triage.posterior import Posterior, chance_of, posterior, priors
from service.domain.triage.question import Compared, Explained, Question, RuledOut, Second, Step, Triage, Unseparated
from service.domain.triage.signs import chances
from service.domain.triage.state import state_of
from service.domain.triage.steps import CIRCUIT, LIVE

LISTED, COMPARED = 12, 3
SHOWN = 0.003
OUT, LEAST_PRIOR = 0.1, 0.005  # posterior over prior, and the prior of what is worth naming
AGAINST = 0.5  # density of a reading over that under what counts
SUSPECT = 0.5
# Evidence under a factor of 10 is not strong (Jeffreys, Theory of Probability, 1961): within it two explanations are
# not separated; and the least share of what is named.
ALIKE, PRESENT, NAMED = 10.0, 0.05, 0.01
PROBABLE = 0.5
LARGEST_SET = 8
MOST_BESIDE, BESIDE = 3, 0.1  # second faults that are named: how many, and from which probability
DECIMALS = 4


def diagnose(question: Question, system: str) -> Triage:
    """The answer to a question, its texts in the units of `system`."""
    facts = facts_of(question.unit, question.atmosphere)
    measured = measure(question.unit, question.readings)
    prior = priors(question.symptom, question.shifts)
    p = posterior(facts, measured, question.seen, prior, question.symptom)
    ranked, alike = in_order(p), unseparated(p)
    steps = next_steps(p, question)
    state = state_of(question, system)
    return Triage(
        state=state.state,
        state_probability=round(state.probability, DECIMALS),
        explanations=tuple(
            _explained(question, p, measured, codes, share, full=n < COMPARED)
            for n, (codes, share) in enumerate(ranked[:LISTED])
            if share >= SHOWN or n == 0
        ),
        cannot_separate=(Unseparated(codes=alike, split_by=steps[0].code if steps else None),) if alike else (),
        second_faults=tuple(_second_faults(question, p)),
        ruled_out=tuple(_ruled_out(question, p, measured, system)),
        suspect=tuple(_suspect(question, p, measured, system)),
        next=steps,
        cautions=_cautions(ranked, steps),
    )


def _explained(
    question: Question, p: Posterior, measured: Measured, codes: Codes, share: float, *, full: bool
) -> Explained:
    both = [named(code, measured, question.seen) for code in codes]
    reasons = (question.shifts.get(code, (1.0, ""))[1] for code in codes)
    return Explained(
        code=codes[0],
        also=codes[1] if len(codes) > 1 else None,
        probability=round(share, DECIMALS),
        sentence=" ".join(each.sentence for each in both),
        test=" ".join(each.test for each in both),
        remedy=" ".join(each.remedy for each in both),
        because=tuple(reason for reason in reasons if reason),
        predicted=tuple(_compared(p, measured, codes)) if full else (),
    )


def _compared(p: Posterior, measured: Measured, codes: Codes) -> Sequence[Compared]:
    """Each reading beside the prediction of the best hypothesis of an explanation."""
    rows = [n for n, each in enumerate(p.rows.codes) if each == codes]
    if not rows:
        return []
    best = max(rows, key=lambda n: float(p.weight[n]))
    shown = [n for n in p.channels if CHANNELS[n].name != "bath_rate"]
    middle, variance = p.predictive.of(shown, np.array([best]))
    return [
        _beside(CHANNELS[n], measured, float(middle[k, 0]), float(np.sqrt(variance[k, k, 0])))
        for k, n in enumerate(shown)
    ]


def _beside(channel: Channel, measured: Measured, mean: float, spread: float) -> Compared:
    reading, dimension = measured.readings[channel.name], channel.dimension
    apart = "temperature_difference" if dimension == "temperature" else dimension
    same = reading.value.dimension == dimension
    shown = reading.value if same else Quantity(measured.values[channel.name], dimension, "")
    return Compared(
        quantity=reading.quantity,
        component=reading.component,
        measured=shown,
        predicted=Quantity(_digits(mean, spread), dimension, ""),
        uncertainty=Quantity(float(f"{spread:.2g}"), apart, ""),
    )


def _digits(mean: float, spread: float) -> float:
    """A mean to a tenth of its uncertainty: more digits would claim more than is known."""
    step = 10.0 ** np.floor(np.log10(max(spread, 1e-12)) - 1.0)
    return float(np.round(mean / step) * step)


def unseparated(p: Posterior) -> Codes:
    """The leading explanation with those that the evidence does not set apart from it; nothing if it stands alone.

    Where two at once lead that are not probable, the leading one of those by themselves counts.
    """
    ranked = in_order(p)
    evidence = {codes: share / chance_of(codes, p.prior) for codes, share in ranked}
    leader = next(codes for codes, share in ranked if len(codes) == 1 or share >= PROBABLE)
    alike = [
        codes
        for codes, share in ranked
        if len(codes) == 1
        and share >= (PRESENT if SOMETHING_ELSE in codes else NAMED)
        and 1.0 / ALIKE <= evidence[codes] / evidence[leader] <= ALIKE
    ]
    return tuple(codes[0] for codes in alike[:LARGEST_SET]) if leader in alike and len(alike) > 1 else ()


def seconds(p: Posterior) -> tuple[str, dict[str, float]]:
    """The likeliest explanation, alone or beside another, and what may be there as well, likeliest first."""
    whole = Counter[str]()
    for codes, share in p.share.items():
        whole.update(dict.fromkeys(codes, share))
    main = min(whole, key=lambda code: (-round(whole[code], DECIMALS), code))
    beside = {code: share for codes, share in in_order(p) if main in codes for code in codes if code != main}
    return main, {code: share for code, share in list(beside.items())[:MOST_BESIDE] if share >= BESIDE}


def _second_faults(question: Question, p: Posterior) -> Sequence[Second]:
    main, beside = seconds(p)
    steps = showing(p, question, list(beside)) if beside else []
    return [
        Second(
            code=code,
            beside=main,
            probability=round(share, DECIMALS),
            test=BY_CODE[code].test,
            split_by=step,
        )
        for (code, share), step in zip(beside.items(), steps, strict=True)
    ]


def in_order(p: Posterior) -> list[tuple[Codes, float]]:
    """Explanations by probability; those that are equal to four digits by name."""
    return sorted(p.share.items(), key=lambda item: (-round(item[1], DECIMALS), item[0]))


def _ruled_out(question: Question, p: Posterior, measured: Measured, system: str) -> Sequence[RuledOut]:
    """Explanations that lost almost all of their prior, each with what speaks most against it."""
    total = dict.fromkeys(BY_CODE, 0.0)
    for codes, share in p.share.items():
        for code in codes:
            total[code] += share
    out = [
        code
        for code, share in total.items()
        if code != SOMETHING_ELSE and p.prior[code] >= LEAST_PRIOR and share < OUT * p.prior[code]
    ]
    evidence = _evidence(question, p, measured, system) if out else []
    if not evidence:
        return []
    texts, ratios = [text for text, _ in evidence], np.array([ratio for _, ratio in evidence])
    against = ((code, _against(p, texts, ratios, code)) for code in out)
    return [RuledOut(code=code, by=by) for code, by in against if by is not None]


def _evidence(question: Question, p: Posterior, measured: Measured, system: str) -> list[tuple[str, Array]]:
    """Each reading and sign as text, with its density under every hypothesis over that under those that count."""
    found: list[tuple[str, Array]] = []
    for k, n in enumerate(p.channels):
        reading = measured.readings[CHANNELS[n].name]
        place = f" at {reading.component or reading.tap}" if reading.component or reading.tap else ""
        found.append((f"{reading.quantity}{place} {format_quantity(reading.value, system)}", np.exp(p.fit.each[k])))
    for sign, present in observations.signs_of(question.seen, question.symptom, {}):
        if sign is COMPLAINT:
            continue
        chance = chances(sign, p.rows, p.predictive)
        found.append((sign.code, chance) if present else (f"no {sign.code}", 1.0 - chance))
    return [(text, density / max(float(density @ p.weight), 1e-300)) for text, density in found]


def _against(p: Posterior, texts: Sequence[str], ratios: Array, code: str) -> str | None:
    """What an explanation makes least likely, two at most."""
    listed, place = p.rows.listed, p.rows.place
    mine = np.flatnonzero(place == listed.index((code,)))
    weights = np.exp(p.rows.log_prior[mine])
    scored = list(zip((ratios[:, mine] @ weights / weights.sum()).tolist(), texts, strict=True))
    strongest = [text for ratio, text in sorted(scored)[:2] if ratio < AGAINST]
    return " and ".join(strongest) or None


def _suspect(question: Question, p: Posterior, measured: Measured, system: str) -> Sequence[str]:
    """Readings that are more likely wrong than right, that contradict each other, or whose unit is probably wrong."""
    units = wrong_units(of_one_moment(question.readings))
    doubted = {id(reading): reading for reading in (*measured.suspect, *units.values())}
    share = float(p.weight.sum())
    for k, n in enumerate(p.channels):
        if share > 0.0 and float(p.fit.wrong[k] @ p.weight) / share > SUSPECT:
            reading = measured.readings[CHANNELS[n].name]
            doubted[id(reading)] = reading
    return [_doubt(reading, system, wrong_unit=key in units) for key, reading in doubted.items()]


def _doubt(reading: Reading, system: str, *, wrong_unit: bool) -> str:
    """What to do about a reading that nothing explains: a hot terminal or a low voltage can be the fault itself."""
    text = f"{reading.quantity} {format_quantity(reading.value, system)}"
    if wrong_unit:
        return f"{reading.quantity} {reading.value.entered} is probably in the wrong unit: correct it, or repeat it."
    if reading.value.dimension in ("voltage", "current") or reading.quantity == "terminal_temperature":
        return f"{text} is explained by nothing in this list: repeat it. If it stays, it is a fault of its own."
    return f"{text} does not fit the other readings: repeat it."


def _cautions(ranked: Sequence[tuple[Codes, float]], steps: Sequence[Step]) -> tuple[str, ...]:
    """Every caution that bears on the likely explanations and the steps, once, the general one last."""
    found: dict[str, None] = {}
    for codes, share in ranked:
        if share >= PRESENT:
            for code in codes:
                found |= dict.fromkeys(BY_CODE[code].cautions)
    risks: Mapping[str, str] = {LIVE: LOCKOUT, CIRCUIT: REFRIGERANT}
    found |= {risks[step.risk]: None for step in steps if step.risk in risks}
    found.pop(LICENSED, None)
    return (*found, LICENSED)
