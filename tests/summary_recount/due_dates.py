"""PM of one unit counted again: the rule for due dates as DEVELOPERS.md has it, in plain Python."""

from calendar import monthrange
from datetime import date, timedelta

from tests.summary_recount.learned import learned_days

LEARNED = {"condenser_clean"}  # tasks that go by the rule `learned` unless it is set otherwise
WORDS = ["clean", "light", "heavy", "blocked"]
# interval [months], shortest and longest [days, a month 30.4375], whether grades change it, surroundings, also done by
CATALOGUE = {
    "condenser_clean": (3, 14, 183, True, {"dusty": 0.5, "greasy": 1 / 3, "outdoor": 0.75}, ["condenser_deep_clean"]),
    "condenser_deep_clean": (6, 91, 365, True, {"greasy": 0.5}, []),
    "glycol_strength_check": (3, 30, 183, False, {}, ["glycol_change"]),
    "glycol_change": (24, 365, 1826, False, {}, []),
    "bath_level_check": (3, 7, 183, False, {}, ["glycol_change"]),
    "pump_check": (3, 30, 183, False, {}, []),
    "strainer_clean": (3, 7, 183, True, {}, []),
    "electrical_check": (12, 183, 365, False, {}, []),
    "trunk_check": (3, 30, 365, False, {}, []),
    "controller_check": (6, 91, 365, False, {}, []),
}


class Due:
    """When the tasks of one unit are due: `recorded` are (day, task, result, grade, by), `own` the intervals set."""

    def __init__(self, unit, site, recorded, own, registered):
        self.recorded, self.own, self.registered = recorded, own, registered
        self.installed = date.fromisoformat(unit["installed_on"]) if unit.get("installed_on") else None
        self.surroundings = site.get("surroundings")
        week = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
        self.closed = {week.index(name) for name in site.get("closed_weekdays", ())}

    def concerning(self, task):
        """What was recorded of a task, the larger one done included."""
        larger = CATALOGUE[task][5]
        return [
            (day, result, grade, by)
            for day, name, result, grade, by in self.recorded
            if name == task or (name in larger and result == "done")
        ]

    def start(self, task):
        """("months" or "days", how many) before any grade."""
        months, shortest, longest, _, factors, _ = CATALOGUE[task]
        kind, count = self.own.get(task, ("months", months))
        factor = factors.get(self.surroundings, 1.0)
        whole = [n for n in range(1, 121) if abs(n - count * factor) < 1e-6 and shortest <= days_of(n) <= longest]
        if kind == "months" and whole:
            return kind, whole[0]
        if factor == 1.0:
            return kind, count
        own = days_of(count) if kind == "months" else count
        return "days", round(min(max(own * factor, shortest), longest))

    def interval(self, task, past):
        """("months" or "days", how many) after what is recorded of the task in `past`, as DEVELOPERS.md says."""
        _, shortest, longest, adapts, _, _ = CATALOGUE[task]
        start = self.start(task)
        first = length = days_of(start[1]) if start[0] == "months" else start[1]
        if task in LEARNED:
            return self.learned(start, past, (first, shortest, longest))
        cleans, clean_on = 0, None
        for day, grade, served in self.grades(past) if adapts else ():
            step = length
            if grade == "clean":
                tried = 0.75 * length
                if served is not None and served >= tried and (clean_on is None or (day - clean_on).days >= tried):
                    cleans, clean_on = cleans + 1, day
                    step = length * 1.25 if cleans % 2 == 0 else length
            else:
                cleans = 0
                if grade != "light" and served is not None:
                    # the interval or the time in service, the longer, times the factor; never more than either
                    step = min(max(length, served) * {"heavy": 0.75, "blocked": 0.5}[grade], length, served)
            length = round(min(max(step, shortest), longest))
        return start if length == first else ("days", length)

    def learned(self, start, past, limits):
        """The same by `learned`: a grade long after the installation, with nothing done before it, does not count."""
        done = min((day for day, result, *_ in past if result == "done"), default=date.max)
        counted = [(day, served, grade) for day, grade, served in self.grades(past) if served]
        found = tuple((served, grade) for day, served, grade in counted if day > done or served <= limits[-1])
        return ("days", learned_days(found, *limits)) if found else start

    def grades(self, past):
        """(day, the worst grade of it, days in service or None), the oldest first."""
        done_on = self.installed
        for day in sorted({day for day, *_ in past}):
            worst = max((g for d, _, g, _ in past if d == day and g), key=WORDS.index, default=None)
            if worst:
                yield day, worst, (day - done_on).days if done_on and done_on <= day else None
            if any(d == day and result == "done" for d, result, *_ in past):
                done_on = day

    def state(self, task, before):
        """(due day, last day done or None, interval) by what was recorded before a day."""
        past = [each for each in self.concerning(task) if each[0] < before and each[1] != "not_done"]
        step = self.interval(task, past)
        last = max((day for day, *_ in past), default=None)
        anchor = last or self.installed
        due = later(anchor, step) if anchor else self.registered
        # what we did not do ourselves is not due before our care
        if due < self.registered and not self.ours([each for each in past if each[0] == last]):
            due, anchor = self.registered, self.registered - timedelta(1)
        return self.open_day(due, anchor or due - timedelta(1)), last, step

    def ours(self, day):
        """Whether the work of a day that counts, that done before that not needed, is ours."""
        done = [each for each in day if each[1] == "done"] or day
        return any(by == "us" for _, _, _, by in done)

    def open_day(self, due, anchor):
        """The last open day before, or after where that were not after the anchor."""
        if due.weekday() not in self.closed:
            return due
        day = due
        while day.weekday() in self.closed:
            day -= timedelta(1)
        if day > anchor:
            return day
        while due.weekday() in self.closed:
            due += timedelta(1)
        return due

    def lines(self, first, last, deadline):
        """(task, due, done, state, days late, grade, interval) of the year."""
        made = []
        for task in CATALOGUE:
            for day in sorted(
                {d for d, result, *_ in self.concerning(task) if result != "not_done" and first <= d <= last}
            ):
                due, before, step = self.state(task, day)
                grades = [g for d, result, g, _ in self.concerning(task) if d == day and g and result != "not_done"]
                grade = max(grades, key=WORDS.index, default=None)
                late = max((day - due).days, 0)
                made.append((task, due, day, "late" if late else "on_time", late, grade, text_of(step)) if before
                            else (task, None, day, "first", None, grade, text_of(step)))  # fmt: skip
            due, before, step = self.state(task, last + timedelta(1))
            if due < deadline and deadline > first:
                late = (deadline - due).days
                made.append((task, due, None, "missed" if before else "never_recorded", late, None, text_of(step)))
        return made

    def plan(self, last):
        """(task, days) of the year after `last`, were each done on its day."""
        start = last + timedelta(1)
        end = later(start, ("months", 12)) - timedelta(1)
        for task in CATALOGUE:
            due, _, step = self.state(task, start)
            if due <= end:
                yield task, [due, *self.further(max(due, start), step, end)]

    def further(self, anchor, step, end):
        """The days after one day, by this interval, that are not beyond the end."""
        times = 1
        while True:
            day = later(anchor, step, times)
            while day.weekday() in self.closed:
                day -= timedelta(1)
            if day > end:
                return
            if day > anchor:
                yield day
            times += 1


def text_of(step):
    """An interval as the product writes it."""
    kind, count = step
    return f"{count} {kind if count != 1 else kind[:-1]}"


def days_of(months):
    """A month counts 30.4375 days."""
    return round(months * 30.4375)


def later(day, step, times=1):
    """So many days or calendar months later; a day that the month lacks is its last one."""
    kind, count = step
    if kind == "days":
        return day + timedelta(count * times)
    years, month = divmod(day.month - 1 + count * times, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))
