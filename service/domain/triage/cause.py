"""The best explanation of what a visit found, as a finding of its assessment."""

from collections.abc import Collection

from service.domain.assessment.finding import Finding
from service.domain.assessment.settle import CAUSE, EXPLAINED
from service.domain.maintenance.catalogue import LICENSED
from service.domain.record.visits import NO_COLD_BEER
from service.domain.triage.diagnose import in_order, unseparated
from service.domain.triage.explanation import Explanation
from service.domain.triage.explanations import BY_CODE, NOTHING_WRONG, SOMETHING_ELSE
from service.domain.triage.facts import beyond, facts_of
from service.domain.triage.measured import measure
from service.domain.triage.posterior import Posterior, posterior, priors
from service.domain.triage.question import Question

ASKING = (*NO_COLD_BEER, "alarm")
LEAST_READINGS = 3
STATED = 0.5
TESTED = 0.95  # above it the remedy is named, and no further test
MOST_CERTAIN = 0.95  # beyond it the model is not good enough to tell
MOST_NAMED = 4  # of a set: more are no cause to act on
NOT_STATED = frozenset({NOTHING_WRONG, SOMETHING_ELSE, "still_recovering"})
SOURCE = "all readings of one moment against one model of the unit; priors: common practice, no source"


def likely_cause(question: Question) -> Finding | None:
    """The cause that explains a complaint, or the set that the readings leave; None where nothing is likely."""
    if question.symptom not in ASKING or any(beyond(question.unit)):
        return None
    measured = measure(question.unit, question.readings)
    if len(measured.readings) < LEAST_READINGS:
        return None
    prior = priors(question.symptom, question.shifts)
    found = posterior(facts_of(question.unit, question.atmosphere), measured, question.seen, prior, question.symptom)
    stated, together, certain = _stated(found)
    if NOT_STATED.intersection(stated[:1]) or together < STATED or len(stated) > MOST_NAMED:
        return None
    texts = [BY_CODE[code].sentence for code in stated]
    joined = " ".join(texts) if certain else "The readings do not separate: " + " Or: ".join(texts)
    return Finding(
        code=CAUSE,
        severity="note",
        figures={EXPLAINED: ", ".join(stated), "probability": round(together, 2)},
        sentence=f"{joined} ({_percent(together)} probable)",
        advice=_advice(BY_CODE[stated[0]], certain, together, {each.quantity for each in question.readings}),
        caution=" ".join(dict.fromkeys((*BY_CODE[stated[0]].cautions, LICENSED))),
        source=SOURCE,
    )


def _advice(cause: Explanation, certain: bool, share: float, read: Collection[str]) -> str:
    """The remedy where the cause is certain enough or what would confirm it was read, else the test."""
    tested = bool(cause.tested_by) and all(each in read for each in cause.tested_by)
    return cause.remedy if certain and (share >= TESTED or tested) else cause.test


def _stated(found: Posterior) -> tuple[tuple[str, ...], float, bool]:
    """What is named, its probability, and whether that is a cause (or two at once) and not a set.

    A cause that leads alone and beside others counts with all of its probability.
    """
    codes, share = in_order(found)[0]
    if len(codes) > 1 and share >= STATED:
        return codes, share, True
    whole = sum(part for each, part in found.share.items() if codes[0] in each)
    if share >= STATED or (whole >= STATED and not unseparated(found)):
        return codes[:1], whole, True
    stated = unseparated(found)
    return stated or codes, sum(found.share.get((code,), 0.0) for code in stated), False


def _percent(share: float) -> str:
    """A probability of a model, which is never certain."""
    return "over 95 %" if share > MOST_CERTAIN else f"{100 * share:.0f} %"
