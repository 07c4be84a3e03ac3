"""A rule is a value: what it can say, what it needs, how it judges, by what source.

A judge yields what it has to say, nothing where there is nothing. `note`, `act` and `stop` word it; `told` turns a
formula's refusal into a note, so that a rule never has to.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from service.domain.assessment.evidence import Evidence, Need, computed
from service.domain.assessment.statement import Figure
from service.domain.physics.ranges import OutOfRange

NOT_RECKONED = "not_reckoned"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A statement as a judge words it; its caution and source are the rule's."""

    code: str
    severity: str
    sentence: str
    advice: str | None
    figures: Mapping[str, Figure]


Judge = Callable[[Evidence], Iterator[Said]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule.

    `codes` are those it can say; `tells` completes "would tell ..."; `asked_by` are words of a visit (symptoms,
    conditions, kinds of components replaced, observations) that make its answer worth more; `weight` is what it is
    worth anyway.
    """

    codes: tuple[str, ...]
    needs: tuple[Need, ...]
    judge: Judge
    tells: str
    source: str
    caution: str
    asked_by: frozenset[str] = frozenset()
    weight: float = 1.0


def fine(code: str, sentence: str, **figures: Figure) -> Said:
    """It is as it should be."""
    return Said(code=code, severity="fine", sentence=sentence, advice=None, figures=figures)


def note(code: str, sentence: str, *, advice: str | None = None, **figures: Figure) -> Said:
    """It is worth knowing."""
    return Said(code=code, severity="note", sentence=sentence, advice=advice, figures=figures)


def act(code: str, sentence: str, *, advice: str, **figures: Figure) -> Said:
    """It has to be put right."""
    return Said(code=code, severity="act", sentence=sentence, advice=advice, figures=figures)


def stop(code: str, sentence: str, *, advice: str, **figures: Figure) -> Said:
    """It is dangerous."""
    return Said(code=code, severity="stop", sentence=sentence, advice=advice, figures=figures)


def unless_mended(said: Said, mended: bool) -> Said:
    """What has to be put right, unless that was done after the reading: then only to be read again."""
    if not mended or said.severity != "act":
        return said
    return replace(said, severity="note", advice="It was worked on after this reading: read it again as left.")


def told(e: Evidence, judge: Callable[..., Iterator[Said]], *subject: object) -> Iterator[Said]:
    """What a judge says; where a formula does not hold, a note that names the quantity and its limits."""
    try:
        yield from judge(e, *subject)
    except OutOfRange as refusal:
        yield not_reckoned(e, refusal)


def not_reckoned(e: Evidence, refusal: OutOfRange) -> Said:
    """The note about a value for which a formula does not hold, in the reader's units."""
    dimension = refusal.dimension

    def shown(value: float) -> str:
        if dimension is None:
            return f"{value:.4g}" + ("" if refusal.unit == "-" else f" {refusal.unit}")
        return e.show(value, dimension)

    value, low, high = (shown(each) for each in (refusal.value, refusal.low, refusal.high))
    return note(
        NOT_RECKONED,
        f"{refusal.name[:1].upper()}{refusal.name[1:]}: {value} lies outside {low} to {high}, for which the reckoning "
        "holds, so nothing is concluded from it.",
        advice="Check the reading, its unit and what stands on the unit's record.",
        quantity=refusal.name,
        value=refusal.value if dimension is None else computed(refusal.value, dimension),
        low=refusal.low if dimension is None else computed(refusal.low, dimension),
        high=refusal.high if dimension is None else computed(refusal.high, dimension),
    )
