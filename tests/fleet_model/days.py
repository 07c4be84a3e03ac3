"""Calendar arithmetic and due dates of one unit, by DEVELOPERS.md, "Due dates"."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta

from tests.summary_recount.due_dates import CATALOGUE, LEARNED, WORDS, days_of, later
from tests.summary_recount.learned import learned_days

DAY = timedelta(days=1)
FAR = date(2040, 1, 1)
Spans = list[tuple[date, date | None]]


def inside(day: date, spans: Spans) -> bool:
    return any(first <= day and (last is None or day <= last) for first, last in spans)


@dataclass
class Performed:
    """A result of a task on a local day."""

    day: date
    task: str
    result: str
    grade: str | None


@dataclass
class UnitDays:
    """What due dates of one unit follow from."""

    installed: date
    registered: date
    care_from: date | None
    closed: set[int]
    surroundings: str | None
    away: Spans
    performed: list[Performed]
    interval: Callable[[str], tuple[str, int] | None]  # None: does not apply
    outcome: tuple[date, str, date | None] | None  # day, outcome, promised
    follow_ups: list[date] = field(default_factory=list)

    def served(self, first: date, last: date) -> int:
        """The days after the first up to the last, without those out of service."""
        return sum(not inside(first + n * DAY, self.away) for n in range(1, (last - first).days + 1))

    def open_day(self, day: date, anchor: date) -> date | None:
        if not inside(day, self.away):
            if day.weekday() not in self.closed:
                return day
            before = day
            while before.weekday() in self.closed:
                before -= DAY
            if before > anchor and not inside(before, self.away):
                return before
        while day < FAR and (inside(day, self.away) or day.weekday() in self.closed):
            day += DAY
        return None if day >= FAR else day

    def concerning(self, task: str) -> list[Performed]:
        larger = CATALOGUE[task][5]
        return [
            each
            for each in self.performed
            if each.result != "not_done"
            and (each.task == task or (each.task in larger and each.result == "done"))
        ]  # fmt: skip

    def start(self, task: str) -> tuple[str, int] | None:
        set_to = self.interval(task)
        if set_to is None:
            return None
        _, shortest, longest, _, factors, _ = CATALOGUE[task]
        kind, count = set_to
        factor = factors.get(self.surroundings, 1.0)
        if factor == 1.0:
            return kind, count
        if kind == "months":
            for whole in range(1, 121):
                if abs(whole - count * factor) < 1e-6 and shortest <= days_of(whole) <= longest:
                    return kind, whole
        own = days_of(count) if kind == "months" else count
        return "days", round(min(max(own * factor, shortest), longest))

    def step(self, task: str) -> tuple[str, int] | None:
        start = self.start(task)
        _, shortest, longest, adapts, _, _ = CATALOGUE[task]
        if start is None or not adapts:
            return start
        first = days_of(start[1]) if start[0] == "months" else start[1]
        if task in LEARNED:
            found = self.found(self.concerning(task), longest)
            return ("days", learned_days(found, first, shortest, longest)) if found else start
        length = self.adapted(self.concerning(task), first, shortest, longest)
        return start if length == first else ("days", length)

    def found(self, past: list[Performed], longest: int) -> tuple[tuple[int, str], ...]:
        """Each grade with the days in service after which it was found."""
        since, done, found = self.installed, False, []
        for day in sorted({each.day for each in past}):
            grade = max((e.grade for e in past if e.day == day and e.grade), key=WORDS.index, default=None)
            served = self.served(since, day) if since <= day else 0
            if grade and served and (done or served <= longest):
                found.append((served, grade))
            if any(e.day == day and e.result == "done" for e in past):
                since, done = day, True
        return tuple(found)

    def adapted(self, past: list[Performed], first: int, shortest: int, longest: int) -> int:
        """The interval in days after every grade."""
        length, cleans, clean_on, since = first, 0, None, self.installed
        for day in sorted({each.day for each in past}):
            grade = max((e.grade for e in past if e.day == day and e.grade), key=WORDS.index, default=None)
            served = self.served(since, day) if since <= day else None
            wanted: float = length
            if grade == "clean" and served is not None:
                tried = 0.75 * length
                if served >= tried and (clean_on is None or self.served(clean_on, day) >= tried):
                    cleans, clean_on = (cleans + 1) % 2, day
                    wanted = length if cleans else length * 1.25
            elif grade in ("light", "heavy", "blocked"):
                cleans, wanted = 0, self.fouled(grade, length, served)
            if wanted != length:
                length = round(min(max(wanted, shortest), longest))
            if any(e.day == day and e.result == "done" for e in past):
                since = day
        return length

    @staticmethod
    def fouled(grade: str, length: int, served: int | None) -> float:
        if grade == "light" or served is None:
            return length
        return min(length, served, max(length, served) * {"heavy": 0.75, "blocked": 0.5}[grade])

    def due(self) -> dict[str, tuple[date, int]]:
        """{task: (due day, days of its interval)}; a follow-up has no interval."""
        found = {}
        for task in CATALOGUE:
            step = self.step(task)
            if step is None:
                continue
            last = max((each.day for each in self.concerning(task)), default=None)
            anchor = last or self.installed
            day = later(anchor, step)
            earliest = self.care_from or (None if last else self.registered)
            if earliest is not None and day < earliest:
                day, anchor = earliest, earliest - DAY
            on = self.open_day(day, anchor)
            if on is not None:
                found[task] = on, days_of(step[1]) if step[0] == "months" else step[1]
        if self.outcome is not None and not any(day > self.outcome[0] for day in self.follow_ups):
            day, outcome, promised = self.outcome
            wanted = {"running": None, "waiting_for_parts": promised or day + 7 * DAY}.get(outcome, day + DAY)
            on = None if wanted is None else self.open_day(wanted, wanted)
            if on is not None:
                found["follow_up"] = on, 0
        return found
