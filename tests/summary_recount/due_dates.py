"""PM of one unit counted again: the rule for due dates as DEVELOPERS.md tells it, in plain Python."""

from calendar import monthrange
from datetime import date, timedelta

WORDS = ["clean", "light", "heavy", "blocked"]
# interval [months], shortest and longest [days, a month 30.4375], whether finds change it, surroundings, also done by
CATALOGUE = {
    "condenser_clean": (3, 14, 183, True, {"dusty": 0.5, "greasy": 1 / 3, "outdoor": 0.75}, ["condenser_deep_clean"]),
    "condenser_deep_clean": (6, 91, 365, True, {"greasy": 0.5}, []),
    "glycol_strength_check": (3, 30, 183, False, {}, []),
    "glycol_change": (24, 365, 1826, False, {}, []),
    "bath_level_check": (3, 7, 183, False, {}, []),
    "pump_check": (3, 30, 183, False, {}, []),
    "strainer_clean": (3, 7, 183, True, {}, []),
    "electrical_check": (12, 183, 365, False, {}, []),
    "trunk_check": (3, 30, 365, False, {}, []),
    "controller_check": (6, 91, 365, False, {}, []),
}


class Due:
    """When the tasks of one unit are due: `told` are (day, task, result, find), `own` the intervals set."""

    def __init__(self, unit, site, told, own, registered):
        self.told, self.own, self.registered = told, own, registered
        self.installed = date.fromisoformat(unit["installed_on"]) if unit.get("installed_on") else None
        self.surroundings = site.get("surroundings")
        week = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
        self.closed = {week.index(name) for name in site.get("closed_weekdays", ())}

    def concerning(self, task):
        """What was told of a task, the larger one done included."""
        larger = CATALOGUE[task][5]
        return [
            (day, result, find)
            for day, name, result, find in self.told
            if name == task or (name in larger and result == "done")
        ]

    def interval(self, task, finds):
        """("months" or "days", how many) after these finds, the oldest first."""
        months, shortest, longest, adapts, factors, _ = CATALOGUE[task]
        kind, count = self.own.get(task, ("months", months))
        own = count if kind == "days" else round(count * 30.4375)
        factor = factors.get(self.surroundings, 1.0)
        start = length = min(max(own * factor, shortest), longest)
        run = 0
        for find in finds if adapts else ():
            run = run + 1 if find == "clean" else 0
            step = 1.25 if run == 2 else {"heavy": 0.75, "blocked": 0.5}.get(find, 1.0)
            run = 0 if run == 2 else run
            length = min(max(length * step, shortest), longest)
        if factor == 1.0 and round(length) == round(start):
            return kind, count
        return "days", round(length)

    def state(self, task, before):
        """(due day, last day done or None, interval) by what was told before a day."""
        past = [each for each in self.concerning(task) if each[0] < before and each[1] != "not_done"]
        found = {}
        for day, _, find in past:
            if find:
                found[day] = max(found.get(day, "clean"), find, key=WORDS.index)
        step = self.interval(task, [found[day] for day in sorted(found)])
        last = max((day for day, _, _ in past), default=None)
        anchor = last or self.installed
        due = later(anchor, step) if anchor else self.registered
        return self.open_day(due, anchor or due), last, step

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
        """(task, due, done, state, days late, find) of the year."""
        made = []
        for task in CATALOGUE:
            for day in sorted(
                {d for d, result, _ in self.concerning(task) if result != "not_done" and first <= d <= last}
            ):
                due, before, _ = self.state(task, day)
                finds = [f for d, result, f in self.concerning(task) if d == day and f and result != "not_done"]
                find = max(finds, key=WORDS.index, default=None)
                late = max((day - due).days, 0)
                made.append((task, due, day, "late" if late else "on_time", late, find) if before
                            else (task, None, day, "first", None, find))  # fmt: skip
            due, before, _ = self.state(task, last + timedelta(1))
            if due < deadline and deadline > first:
                late = (deadline - due).days
                made.append((task, due, None, "missed", late, None) if before
                            else (task, due, None, "never_recorded", None, None))  # fmt: skip
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


def later(day, step, times=1):
    """So many days or calendar months later; a day that the month lacks is its last one."""
    kind, count = step
    if kind == "days":
        return day + timedelta(count * times)
    years, month = divmod(day.month - 1 + count * times, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))
