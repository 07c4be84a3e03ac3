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

    def in_order(self) -> list[Grade]:
        """The grades by the day."""
        return [self.grades[day] for day in sorted(self.grades)] if len(self.grades) > 1 else [*self.grades.values()]


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
    return past_of(group_of(task, groups)).in_order()


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
    last, grades = None, past.grades
    for each in group:
        on = each.on
        if each.result == "not_done":
            past.skipped = each if past.skipped is None else max(past.skipped, each, key=_by_day_and_reason)
            continue
        graded = Grade(on, each.as_found, each.result == "done", each.reported is None or each.reported == str(on))
        grades[on] = _both(grades[on], graded) if on in grades else graded
        if last is None or on > last.on or (on == last.on and _weight(each) > _weight(last)):
            last = each
    past.last = last
    return past


def _both(one: Grade, other: Grade) -> Grade:
    """Two grades of one day."""
    found = [grade.as_found for grade in (one, other) if grade.as_found is not None]
    worst = max(found, key=AS_FOUND.index, default=None)
    return Grade(one.on, worst, one.done or other.done, one.exact or other.exact)


def _weight(each: Performed) -> tuple[bool, bool]:
    return each.result == "done", each.by == "us"


def _by_day_and_reason(skipped: Performed) -> tuple[date, str]:
    return skipped.on, skipped.reason or ""
