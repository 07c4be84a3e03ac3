"""Which tasks are due at a unit: date, basis and reason."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from operator import attrgetter
from typing import Literal, NamedTuple

from service.domain.maintenance import due_sentences
from service.domain.maintenance.adaptation import Adapted, Grade, adapt, days_in_service
from service.domain.maintenance.calendar_days import add_interval, first_day_in_service, last_open_day
from service.domain.maintenance.foreseen import NOTHING_FORESEEN, Foreseen, Reached
from service.domain.maintenance.past import Past, group_of, past_of, reported
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import CONDITION, Interval, Task
from service.domain.messages import joined
from service.domain.record.care import NOTHING_KNOWN, Care
from service.domain.record.pauses import away_text, is_away, span_at
from service.domain.record.unit_log import Performed, UnitLog

Basis = Literal["interval", "condition", "reported", "follow_up", "first_visit", "onboarding"]

FOLLOW_UP = "follow_up"
UNFINISHED = ("recovering", "down")  # outcomes with a follow-up the next day
WAITING_FOR_PARTS = "waiting_for_parts"
PARTS_DAYS = 7  # after which a unit waits no longer unnoticed where no day was promised; common practice, no source

_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class LatestOutcome:
    """The latest visit with an outcome: its id, its day at the site, the outcome, and when parts were promised."""

    visit: str
    day: date
    outcome: str | None
    parts_promised_on: date | None = None


class DueItem(NamedTuple):
    """A task due on a day at the site. `interval` is the one in force, as text; a follow-up has none.

    `last_done_on` is a day that is known; work reported for a month or a year has none. `away` are the days from then
    on at which it is not listed: see `pauses.away_text`.
    """

    task: str
    due_on: date
    basis: Basis
    why: str
    interval: str | None
    last_done_on: date | None
    away: str | None = None

    def ended(self, today: date) -> bool:
        """Whether the unit is out of our care or of service today, and no day is known on which it comes back."""
        return is_away(self.away, today.isoformat())


@dataclass(slots=True)
class _Start:
    """What is known of a unit before its first visit, the weekdays its site is closed, and its care."""

    installed_on: date | None
    registered_on: date
    closed_weekdays: frozenset[int]
    care: Care
    foreseen: Foreseen
    worded: bool


def due_items(  # noqa: PLR0913 (each is one plain fact about the unit)
    *,
    tasks: Sequence[Task],
    performed: Sequence[Performed],
    installed_on: date | None,
    registered_on: date,
    surroundings: str | None,
    closed_weekdays: frozenset[int],
    latest: LatestOutcome | None,
    care: Care = NOTHING_KNOWN,
    foreseen: Foreseen = NOTHING_FORESEEN,
    worded: bool = True,
) -> tuple[DueItem, ...]:
    """The due items of one unit, by date and then by task; `performed` may come in any order and gives the same answer.

    What is `foreseen` counts for tasks whose rule is `learned` or `condition`. Where it is not `worded`, the `why` of
    what is due by an interval is empty, for those who only count.
    Weekdays count as date.weekday() does, 0 is Monday. Raises ValueError when a due date falls beyond the year 9999.
    """
    start = _Start(installed_on, registered_on, closed_weekdays, care, foreseen, worded)
    groups: dict[str, list[Performed]] = {}
    for each in (*reported(care), *performed) if care.last_done else performed:
        groups.setdefault(each.task, []).append(each)
    items: list[DueItem | None] = []
    for task in tasks:
        if not task.applies:
            continue
        past = past_of(group_of(task, groups))
        if task.interval is not None:
            items.append(_from_interval(task, past, surroundings, start))
        elif task.code == FOLLOW_UP and latest is not None and _is_open(latest, past):
            items.append(_from_outcome(latest, past, start))
    known = (item for item in items if item is not None)
    if care.away or care.out_from is not None:
        known = (_within(item, care) for item in known if care.out_from is None or item.due_on < care.out_from)
    return tuple(sorted(known, key=attrgetter("due_on", "task")))


def _within(item: DueItem, care: Care) -> DueItem:
    return item._replace(away=away_text(care.away, care.out_from, item.due_on))


def due_of(log: UnitLog, tasks: Mapping[str, Task], foreseen: Foreseen = NOTHING_FORESEEN) -> tuple[DueItem, ...]:
    """The due items of a unit from its history, the tasks as they apply to all units, and what is foreseen of it."""
    unit, site = log.unit, log.site
    own = log.settings
    return due_items(
        tasks=[changed_task(task, Setting(code, own[code])) if code in own else task for code, task in tasks.items()],
        performed=tuple(log.performed()),
        installed_on=unit.installed_on,
        registered_on=unit.registered_on,
        surroundings=site.surroundings,
        closed_weekdays=site.closed,
        latest=latest_of(log),
        care=log.care,
        foreseen=foreseen,
    )


def latest_of(log: UnitLog) -> LatestOutcome | None:
    """Our latest visit that recorded an outcome."""
    ours = (visit for visit in reversed(log.visits) if visit.by == "us" and visit.outcome is not None)
    return next((LatestOutcome(each.id, each.day, each.outcome, each.parts_promised_on) for each in ours), None)


def _from_interval(task: Task, past: Past, surroundings: str | None, start: _Start) -> DueItem | None:
    grades = past.in_order()
    adapted = _adapted(task, grades, surroundings, start)
    basis: Basis = "first_visit"
    last_on = None
    if past.last is not None:
        basis = "reported" if past.last.reported else "condition" if adapted.by_grades else "interval"
        anchor = past.last.on
        last_on = anchor if grades[-1].exact else None
    else:
        anchor = start.installed_on or date.min
    why = [_last_done(task, past.last, grades, adapted, start)] if start.worded else []
    due_on = add_interval(anchor, adapted.interval)
    reached = _reached(task, past, start)
    if reached is not None:
        basis, due_on, forecast, anchor = _by_condition(task, past, start, reached)
        why += forecast
    planned = None if reached is not None and reached.crossed else start.care.planned.get(task.code)
    if planned is not None and (past.last is None or past.last.on < planned.since):
        basis, due_on = "onboarding", planned.on
        why.append(due_sentences.first_date(planned))
    earliest = _earliest(past, start)
    if earliest is not None and due_on < earliest:
        due_on, anchor = earliest, earliest - _ONE_DAY
        why.append(due_sentences.from_our_care(earliest, start.care.care_from))
    if past.skipped is not None:
        why += due_sentences.skipped(past.skipped, None if past.last is None else past.last.on)
    open_on, moved = _on_open_day(due_on, anchor, start)
    text = _all(why, moved) if start.worded else ""
    return None if open_on is None else DueItem(task.code, open_on, basis, text, adapted.text, last_on)


def _all(why: Sequence[str], moved: Sequence[str]) -> str:
    """All sentences as one text."""
    return why[0] if len(why) == 1 and not moved else joined((*why, *moved))


def _last_done(task: Task, last: Performed | None, grades: Sequence[Grade], adapted: Adapted, start: _Start) -> str:
    if last is None:
        asked = any(each.task == task.code for each in start.care.last_done)
        return due_sentences.never_done(task, start.installed_on, adapted, asked=asked)
    found = grades[-1].as_found
    *_, days = days_in_service(grades, start.installed_on, start.care.away) if found else (None,)
    return due_sentences.last_done(task, last, found, days, adapted)


def _adapted(task: Task, grades: Sequence[Grade], surroundings: str | None, start: _Start) -> Adapted:
    fouling = start.foreseen.fouling.get(f"{task.code}/{surroundings or ''}") if start.foreseen.fouling else None
    return adapt(task, grades, surroundings, start.installed_on, start.care.away, fouling)


def _reached(task: Task, past: Past, start: _Start) -> Reached | None:
    """The forecast by which a task is due, where there is one by a reading since it was done."""
    if task.rule != CONDITION:
        return None
    found = start.foreseen.figures.get(task.figure or "")
    return found if found is not None and (past.last is None or found.read_on >= past.last.on) else None


def _by_condition(task: Task, past: Past, start: _Start, reached: Reached) -> tuple[Basis, date, Iterable[str], date]:
    """The forecast day, but not before the day after its latest reading; that day where the limit is crossed.

    It is never later than the longest interval of the task after it was done, before that after the installation. At
    the end the day to which a closed weekday cannot move it back.
    """
    begun = past.last.on if past.last is not None else start.installed_on or _earliest(past, start) or reached.read_on
    outer = add_interval(begun, task.longest or Interval(1, "day"))
    wanted = reached.read_on if reached.crossed else max(reached.on or outer, reached.read_on + _ONE_DAY)
    due_on = min(wanted, outer)
    anchor = max(begun, min(reached.read_on, due_on - _ONE_DAY))
    return "condition", due_on, due_sentences.by_condition(reached.sentence, wanted, outer), anchor


def _earliest(past: Past, start: _Start) -> date | None:
    """The first day of our care; where we did the work ourselves, only a day that is recorded for it."""
    ours = past.last is not None and past.last.by == "us"
    return start.care.care_from or (None if ours else start.registered_on)


def _is_open(latest: LatestOutcome, past: Past) -> bool:
    """Left recovering, down or waiting for parts, and no follow-up was made on a later day."""
    unfinished = latest.outcome in (*UNFINISHED, WAITING_FOR_PARTS)
    return unfinished and (past.last is None or past.last.on <= latest.day)


def _from_outcome(latest: LatestOutcome, past: Past, start: _Start) -> DueItem | None:
    wanted, why = _follow_up(latest)
    due_on, moved = _on_open_day(wanted, wanted, start)  # never before the day that was wanted
    if due_on is None:
        return None
    return DueItem(
        FOLLOW_UP, due_on, "follow_up", _all([why], moved), None, None if past.last is None else past.last.on
    )


def _follow_up(latest: LatestOutcome) -> tuple[date, str]:
    """The day of the follow-up, whatever day of the week it is, and why."""
    if latest.outcome != WAITING_FOR_PARTS:
        return latest.day + _ONE_DAY, due_sentences.left_unfinished(latest.day, latest.outcome)
    promised = latest.parts_promised_on
    due_on = latest.day + timedelta(days=PARTS_DAYS) if promised is None else promised
    return due_on, due_sentences.waiting_for_parts(latest.day, promised, PARTS_DAYS)


def _on_open_day(due_on: date, anchor: date, start: _Start) -> tuple[date | None, Sequence[str]]:
    """The day itself; out of service the day of return; on a closed weekday the last open day before.

    Where that is not after the anchor, or out of service, it is the first open day after. None: it is not known.
    """
    closed, away = start.closed_weekdays, start.care.away
    span = span_at(away, due_on) if away else None
    if span is not None:
        back = first_day_in_service(due_on, closed, away)
        return back, () if back is None else (due_sentences.on_return(span, back),)
    if not closed or due_on.weekday() not in closed:
        return due_on, ()
    before = last_open_day(due_on, closed)
    if before > anchor and span_at(away, before) is None:
        return before, (due_sentences.moved(due_on, before),)
    after = first_day_in_service(due_on, closed, away)
    return after, () if after is None else (due_sentences.moved(due_on, after),)
