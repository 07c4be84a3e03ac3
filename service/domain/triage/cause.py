"""The best explanation of what a visit found, as a finding of its assessment."""

from collections.abc import Collection, Sequence
from itertools import chain

from service.domain.assessment.finding import Finding
from service.domain.assessment.settle import CAUSE, EXPLAINED
from service.domain.maintenance.catalogue import LICENSED
from service.domain.record.visits import NO_COLD_BEER, Reading
from service.domain.triage.diagnose import in_order, seconds, unseparated
from service.domain.triage.explanation import Explanation
from service.domain.triage.explanations import BY_CODE, NOTHING_WRONG, SOMETHING_ELSE
from service.domain.triage.facts import beyond, facts_of
from service.domain.triage.measured import measure
from service.domain.triage.naming import named
from service.domain.triage.posterior import Posterior, posterior, priors
from service.domain.triage.question import Question

ASKING = (*NO_COLD_BEER, "alarm")
LEAST_READINGS = 3
STATED = 0.5
ALONE = 2.0 / 3.0  # from here a cause is twice as likely as all else, and named alone whatever else would fit
BESIDE = 0.15  # probability from which a second fault is named beside it; common practice, no source
TESTED = 0.95  # above it the remedy is named, and no further test
MOST_CERTAIN = 0.95  # beyond it the model is not good enough to tell
LEAST_NAMED = 0.02  # probability of what is named in a set
MOST_NAMED = 4  # of a set: more are no cause to act on
NOT_STATED = frozenset({NOTHING_WRONG, SOMETHING_ELSE, "still_recovering"})
SOURCE = "all readings of one moment against one model of the unit; priors: common practice, no source"


def likely_cause(question: Question) -> Finding | None:
    """The cause that explains a complaint, or the set that the readings leave; None where nothing is likely."""
    if question.symptom not in ASKING or any(beyond(question.unit)):
        return None
    measured = measure(question.unit, question.readings)
    if len(measured.readings) < LEAST_READINGS or any(map(_is_pressure, measured.suspect)):
        return None  # pressures that contradict a current are read again first
    prior = priors(question.symptom, question.shifts)
    found = posterior(facts_of(question.unit, question.atmosphere), measured, question.seen, prior, question.symptom)
    stated, together, certain = _stated(found)
    if NOT_STATED.intersection(stated[:1]) or together < STATED or len(stated) > MOST_NAMED:
        return None
    read = {each.quantity for each in question.readings} | measured.values.keys()
    beside = _beside(found, stated) if certain else {}
    causes = [named(code, measured, question.seen) for code in stated]
    advice = [_advice(cause, certain, together, read) for cause in (causes if certain else causes[:1])]
    sentence = f"{_joined([cause.sentence for cause in causes], certain)} ({_percent(together)} probable)."
    figures: dict[str, float | str] = {
        EXPLAINED: (" and " if certain else ", ").join(stated),
        "probability": round(together, 2),
    }
    for code, share in beside.items():
        second = named(code, measured, question.seen)
        figures |= {"second": code, "second_probability": round(share, 2)}
        sentence += f" Perhaps also: {_small(second.sentence)} ({_percent(share)} probable)."
        advice.append(_advice(second, True, share, read))
    cautions = [BY_CODE[code].cautions for code in ((*stated, *beside) if certain else stated[:1])]
    return Finding(
        code=CAUSE,
        severity="note",
        figures=figures,
        sentence=sentence,
        advice=" ".join(dict.fromkeys(advice)),
        caution=" ".join(dict.fromkeys((*chain.from_iterable(cautions), LICENSED))),
        source=SOURCE,
    )


def _joined(texts: Sequence[str], certain: bool) -> str:
    """The sentence of a cause, of two at once, or of a set."""
    if len(texts) == 1:
        return texts[0].rstrip(".")
    if not certain:
        return f"The readings do not separate: {'; or: '.join(map(_small, texts))}; all together"
    first, second = map(_small, texts)
    return f"Two faults at once: {first}; and {second}"


def _small(text: str) -> str:
    return text[:1].lower() + text[1:].rstrip(".")


def _is_pressure(reading: Reading) -> bool:
    return reading.value.dimension == "pressure"


def _beside(found: Posterior, stated: Sequence[str]) -> dict[str, float]:
    """The likeliest second fault beside a cause that is named alone."""
    main, others = seconds(found)
    listed = [(code, share) for code, share in others.items() if share >= BESIDE and code not in NOT_STATED]
    return dict(listed[:1]) if tuple(stated) == (main,) else {}


def _advice(cause: Explanation, certain: bool, share: float, read: Collection[str]) -> str:
    """The remedy where the cause is certain enough or what would confirm it was read, else the test."""
    tested = bool(cause.tested_by) and all(each in read for each in cause.tested_by)
    return cause.remedy if certain and (share >= TESTED or tested) else cause.test


def _stated(found: Posterior) -> tuple[tuple[str, ...], float, bool]:
    """What is named, its probability, and whether that is a cause (or two at once) and not a set.

    A cause counts with all of its probability, alone and beside others, and so does a set.
    """
    codes, share = in_order(found)[0]
    if len(codes) > 1 and share >= STATED:
        return codes, share, True
    whole = sum(part for each, part in found.share.items() if codes[0] in each)
    stated = tuple(code for code in unseparated(found) if found.share.get((code,), 0.0) >= LEAST_NAMED)
    if share >= ALONE or (whole >= STATED and len(stated) < 2):
        return codes[:1], whole, True
    together = sum(part for each, part in found.share.items() if not {*stated}.isdisjoint(each))
    return stated or codes, together, False


def _percent(share: float) -> str:
    """A probability of a model, which is never certain."""
    return "over 95 %" if share > MOST_CERTAIN else f"{100 * share:.0f} %"
