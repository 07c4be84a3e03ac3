"""What is to do about a unit, by whom, by when and why: ranked, and equal lines of several units as one."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.domain.assessment.assess import RULES
from service.domain.condition.latest import Worry
from service.domain.messages import gettext, joined, term
from service.domain.record.visits import Visit
from service.domain.root_causes.life_cycle import ACTION_TIERS
from service.domain.summary.customer_words import (
    ASSUMED,
    CAUSES,
    CONDENSER_NOT_OURS,
    DANGERS,
    LIMITS,
    SPLIT_NOT_OURS,
    CauseWords,
)
from service.domain.summary.letter_lines import Action
from service.domain.summary.lines import MISSED, NEVER, PlanLine, PmLine, RootCauseLine, VisitLine

YOU, WE = "you", "we"
DANGER, ROOT_CAUSE, OVERDUE, LIMIT, WORDS = BASES = ("danger", "root_cause", "overdue", "limit", "words")
UNSETTLED = ("open", "confirmed")
AT_ONCE = date.min
CONDENSER, SPLIT = "condenser_fouled", "condenser_split_high"
FOR_A_TIME = re.compile(
    r"\b(for|till|until) (now|the moment|today|tonight|tomorrow|this evening)$|^pour\b.* (today|tonight)$", re.I
)
PART_OF_ADVICE = re.compile(r"[.,;:!?\n]|\s-\s|\b(?:and|but|or|then)\b", re.I)
ADVISING = tuple(rule for rule in RULES if not LIMITS.keys().isdisjoint(rule.codes))
"""The rules whose findings are reported to a customer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What the actions of one unit follow from; `dangers` are what its last visit saw that endangers people.

    `cleans` is whether cleaning its condenser is our work.
    """

    tag: str
    visits: Sequence[VisitLine]
    dangers: Sequence[str]
    worries: Iterable[Worry]
    root_causes: Iterable[RootCauseLine]
    pm_lines: Iterable[PmLine]
    plan: Sequence[PlanLine]
    plan_from: date
    out: bool
    cleans: bool = True


def actions(found: Found) -> tuple[Action, ...]:
    """The actions of one unit, the most pressing first; nothing is left to do at one that is out of our care."""
    if found.out:
        return ()
    made = [
        *_from_limits(found),
        *_from_dangers(found),
        *_from_root_causes(found),
        *_from_overdue(found),
        *_from_words(found),
    ]
    return merged(made)


def merged(found: Iterable[Action]) -> tuple[Action, ...]:
    """Equal lines of several units as one, with all units, each reason and the day by which all are done.

    Danger comes first, then the order of BASES.
    """
    by_line: dict[tuple[str, str], list[Action]] = {}
    for each in found:
        by_line.setdefault((each.who, each.what), []).append(each)
    return tuple(sorted(map(_one, by_line.values()), key=_rank))


def _one(same: Sequence[Action]) -> Action:
    first = min(same, key=_rank)
    days = [each.by for each in same if each.by is not None]
    without_day = len(days) < len(same)
    return Action(
        units=tuple(sorted({unit for each in same for unit in each.units})),
        who=first.who,
        what=first.what,
        why=tuple(dict.fromkeys(why for each in same for why in each.why)),
        by=None if without_day else max(days),
        basis=first.basis,
        first=min((each.first for each in same if each.first), default=None),
        last=max((each.last for each in same if each.last), default=None),
    )


def _rank(action: Action) -> tuple[int, int, int, date, str]:
    """Of one basis what concerns most units, then what was advised most often, then what is due first."""
    return (
        BASES.index(action.basis),
        -len(action.units),
        -len(action.why),
        action.first or action.by or AT_ONCE,
        action.what,
    )


def _next_visit(found: Found) -> date | None:
    """The first day from the period's end on which something falls due; None, at once, where nothing does."""
    return min((day for line in found.plan for day in line.due_on if day >= found.plan_from), default=None)


def _from_limits(found: Found) -> Iterator[Action]:
    for each in (worry for worry in found.worries if worry.code in LIMITS):
        words = LIMITS[each.code] if found.cleans or each.code != SPLIT else SPLIT_NOT_OURS
        basis, by = (DANGER, None) if words.danger else (LIMIT, _next_visit(found))
        where = (gettext("At {component}.", component=each.component),) if each.component else ()
        why = _of(found.tag, words.why, *where)
        yield _action(found, WE, words.do, why, by, basis)
        if words.decide:
            yield _action(found, YOU, words.decide, why, by, basis)


def from_today(made: Sequence[Action], plan: Sequence[PlanLine], today: date) -> tuple[Action, ...]:
    """The actions of a unit, none promised for a day before today: for the next one in the plan then."""
    if not any(each.by and each.by < today for each in made):
        return tuple(made)
    day = min((day for line in plan for day in line.due_on if day >= today), default=None)
    return tuple(replace(each, by=day) if each.by and each.by < today else each for each in made)


def _of(tag: str, *sentences: str) -> str:
    """Sentences about a unit, whose tag comes first."""
    return joined((tag, joined(sentences)), ": ")


def _from_dangers(found: Found) -> Iterator[Action]:
    """What the last visit saw that endangers people."""
    for seen in found.dangers:
        what, why = DANGERS[seen]
        reason = _of(found.tag, why, gettext("Seen on {day}.", day=found.visits[-1].on.isoformat()))
        yield _action(found, WE, what, reason, None, DANGER)


def dangers_of(visits: Sequence[Visit]) -> tuple[str, ...]:
    """The codes of what the last visit saw that endangers people."""
    return tuple(
        dict.fromkeys(each.code for visit in visits[-1:] for each in visit.observations if each.code in DANGERS)
    )


def _from_root_causes(found: Found) -> Iterator[Action]:
    for each in found.root_causes:
        if each.tier in ACTION_TIERS and each.state in UNSETTLED:
            words, by = words_of(each, ours=found.cleans), _next_visit(found)
            why = _of(found.tag, gettext("{kind} failures.", kind=term(each.kind)), words.think)
            yield _action(found, WE, term(imperative(words.do)), why, by, ROOT_CAUSE)
            if words.decide:
                yield _action(found, YOU, words.decide, why, by, ROOT_CAUSE)


def imperative(text: str) -> str:
    """A promise as a line of a list that is headed by who acts."""
    rest = text.removeprefix("We will ")
    return f"{rest[:1].upper()}{rest[1:]}"


def words_of(found: RootCauseLine, *, ours: bool) -> CauseWords:
    """The words of its most probable cause; of one that is assumed, that it may be so.

    `ours` is whether we clean the condenser.
    """
    code = found.causes[0].cause
    assumed = ASSUMED.get(code) if found.assumed else None
    if code == CONDENSER and not ours:
        return replace(CONDENSER_NOT_OURS, think=assumed.think) if assumed else CONDENSER_NOT_OURS
    return assumed or CAUSES.get(code, CAUSES["unexplained"])


def _from_overdue(found: Found) -> Iterator[Action]:
    """Each task that is overdue at the end of the period, those never recorded too; a later day would put it off."""
    for each in found.pm_lines:
        if each.state in (MISSED, NEVER) and each.due_on is not None:
            day = each.due_on.isoformat()
            never = gettext("due since {day}, never recorded.", day=day)
            why = _of(each.unit, never if each.state == NEVER else gettext("due since {day}.", day=day))
            yield _action(found, WE, joined((term(each.name), "."), ""), why, None, OVERDUE, on=each.due_on)


def _from_words(found: Found) -> Iterator[Action]:
    """What our technicians advised in the year, the latest first; a line that came again is one line.

    What was advised for a day alone is left out once we have been there again.
    """
    ours = [each for each in found.visits if each.by == "us"]
    for each in reversed(ours):
        if each.advice and (each is ours[-1] or not for_a_day(each.advice)):
            why = _of(each.unit, gettext("advised at the visit on {day}.", day=each.on.isoformat()))
            yield _action(found, YOU, each.advice, why, None, WORDS, on=each.on)


def for_a_day(advice: str) -> bool:
    """Whether every part of an advice says that it is for a day or the moment; in doubt it is not.

    An "until" with anything else is no sign: what it waits for need not have come at our next visit.
    """
    parts = [part.strip() for part in PART_OF_ADVICE.split(advice) if part.strip()]
    return all(FOR_A_TIME.search(part) for part in parts)


def _action(  # noqa: PLR0913 - what it says
    found: Found, who: str, what: str, why: str, by: date | None, basis: str, *, on: date | None = None
) -> Action:
    return Action(units=(found.tag,), who=who, what=what, why=(why,), by=by, basis=basis, first=on, last=on)
