"""A rule is a value: the codes of its findings, the inputs it needs, its function and its source.

A rule's function yields its findings, none where there is nothing to report. `fine`, `note`, `act` and `stop` make
them; `run_rule` turns a value outside a formula's range into a note, so that no rule has to.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from service.domain.assessment.evidence import Evidence, Need, computed
from service.domain.assessment.figure import Figure
from service.domain.assessment.finding import Finding
from service.domain.physics.ranges import OutOfRange

NOT_CALCULATED = "not_calculated"
Judge = Callable[[Evidence], Iterator[Finding]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule.

    `codes` are those of its findings; `shows` completes "would show ..."; `asked_by` are codes of a visit (symptoms,
    conditions, kinds of components replaced, observations) that make its answer more useful; `weight` is its
    usefulness without them. Caution and source are added to its findings.

    It runs on each moment of a visit, as found and as left; with `runs` on "whole" once, on the whole visit, and on
    "last" once, on its last moment. What it found
    stays found where it `lasts`; else a good reading as left takes its urgency away. `repaired_by` are the tasks that
    put its faults right, beside the replacement of the component.
    """

    codes: tuple[str, ...]
    needs: tuple[Need, ...]
    judge: Judge
    shows: str
    source: str
    caution: str
    asked_by: frozenset[str] = frozenset()
    weight: float = 1.0
    runs: str = "each"
    lasts: bool = False
    repaired_by: frozenset[str] = frozenset()
    quantities: frozenset[str] = field(init=False)
    further: tuple[Need, ...] = field(init=False)

    def __post_init__(self) -> None:
        """Sort the needs once: quantities, of which nearly every visit lacks most, and further needs."""
        object.__setattr__(self, "quantities", frozenset(need.quantity for need in self.needs if need.quantity))
        object.__setattr__(self, "further", tuple(need for need in self.needs if not need.quantity))

    def can_run(self, e: Evidence) -> bool:
        """Whether its needs are found in the evidence."""
        if not self.quantities <= e.counting.keys():
            return False
        return not self.further or all(need.found(e) for need in self.further)

    def lacks(self, e: Evidence) -> list[Need]:
        """The needs that are not found in the evidence."""
        read = e.counting
        return [need for need in self.needs if (need.quantity not in read if need.quantity else not need.found(e))]


def fine(code: str, sentence: str, **figures: Figure) -> Finding:
    """A value is as it should be."""
    return Finding(code=code, severity="fine", sentence=sentence, advice=None, figures=figures)


def note(code: str, sentence: str, *, advice: str | None = None, **figures: Figure) -> Finding:
    """Worth knowing."""
    return Finding(code=code, severity="note", sentence=sentence, advice=advice, figures=figures)


def act(code: str, sentence: str, *, advice: str, **figures: Figure) -> Finding:
    """Has to be corrected."""
    return Finding(code=code, severity="act", sentence=sentence, advice=advice, figures=figures)


def stop(code: str, sentence: str, *, advice: str, **figures: Figure) -> Finding:
    """Dangerous."""
    return Finding(code=code, severity="stop", sentence=sentence, advice=advice, figures=figures)


def run_rule(e: Evidence, judge: Callable[..., Iterator[Finding]], *subject: object) -> Iterator[Finding]:
    """The findings of a rule's function; a note with the quantity and its limits where a formula does not apply."""
    try:
        yield from judge(e, *subject)
    except OutOfRange as refusal:
        yield not_calculated(e, refusal)


def not_calculated(e: Evidence, refusal: OutOfRange) -> Finding:
    """The note about a value outside a formula's range, in the reader's units."""
    dimension = refusal.dimension

    def shown(value: float) -> str:
        if dimension is None:
            return f"{value:.4g}" + ("" if refusal.unit == "-" else f" {refusal.unit}")
        return e.show(value, dimension)

    value, low, high = (shown(each) for each in (refusal.value, refusal.low, refusal.high))
    return note(
        NOT_CALCULATED,
        f"{refusal.name[:1].upper()}{refusal.name[1:]}: {value} is outside {low} to {high}, the range of the "
        "calculation. No conclusion is drawn from it.",
        advice="Check the reading, its unit and the unit's record.",
        quantity=refusal.name,
        value=refusal.value if dimension is None else computed(refusal.value, dimension),
        low=refusal.low if dimension is None else computed(refusal.low, dimension),
        high=refusal.high if dimension is None else computed(refusal.high, dimension),
    )
