"""What is recorded of one task at one unit, and how it was found each time."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from service.domain.maintenance.adaptation import Grade
from service.domain.maintenance.tasks import AS_FOUND, Task
from service.domain.record.care import Care
from service.domain.record.unit_log import Performed, UnitLog


@dataclass(slots=True)
class Past:
    """All records of one task, in any order."""

    last: Performed | None = None
    skipped: Performed | None = None
    grades: dict[date, Grade] = field(default_factory=dict)


def reported(care: Care) -> Iterator[Performed]:
    """What was done before our care, on the earliest day that the report allows."""
    for each in care.last_done:
        if each.earliest is not None:
            yield Performed(each.task, each.earliest, "done", None, None, by="others", reported=each.on)


def grades_of(log: UnitLog, task: Task) -> list[Grade]:
    """What was found at each performance of a task, by the day."""
    groups: dict[str, list[Performed]] = {}
    for each in (*reported(log.care), *log.performed()):
        groups.setdefault(each.task, []).append(each)
    past = past_of(group_of(task, groups))
    return [past.grades[day] for day in sorted(past.grades)]


def group_of(task: Task, groups: Mapping[str, Sequence[Performed]]) -> Sequence[Performed]:
    """What counts for a task: its own records and those of larger tasks that were done."""
    own = groups.get(task.code, ())
    if not task.also_by:
        return own
    return [*own, *(each for code in task.also_by for each in groups.get(code, ()) if _counts(each))]


def _counts(each: Performed) -> bool:
    """Done; a larger task that was skipped or not needed does not count for the smaller one in it."""
    return each.result == "done"


def past_of(group: Sequence[Performed]) -> Past:
    """On one day done outranks not needed, ours what others did, and the worst grade counts: no run within a day."""
    past = Past()
    for each in group:
        if each.result == "not_done":
            past.skipped = each if past.skipped is None else max(past.skipped, each, key=_by_day_and_reason)
            continue
        past.grades[each.on] = _graded(past.grades.get(each.on), each)
        past.last = each if past.last is None else max(past.last, each, key=_by_day_and_weight)
    return past


def _graded(known: Grade | None, each: Performed) -> Grade:
    done = each.result == "done" or (known is not None and known.done)
    found = [as_found for as_found in (each.as_found, known and known.as_found) if as_found is not None]
    exact = each.reported in (None, each.on.isoformat()) or (known is not None and known.exact)
    return Grade(each.on, max(found, key=AS_FOUND.index, default=None), done, exact)


def _by_day_and_weight(each: Performed) -> tuple[date, bool, bool]:
    return each.on, each.result == "done", each.by == "us"


def _by_day_and_reason(skipped: Performed) -> tuple[date, str]:
    return skipped.on, skipped.reason or ""
