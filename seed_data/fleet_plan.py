"""Which visits there were, and on which days: laid out backwards from today.

Rounds of maintenance keep the beat that the surroundings ask for, and the next one falls `Place.next_due` days from
today, so that today's list is full whatever today is. Calls are strewn in between; two units have planted causes.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random

from fleet_calls import BURNT_SWITCH, BY_CODE, CAUSES, STARVED_PUMP, Cause
from fleet_models import part_codes
from fleet_town import SITES, Place
from fleet_units import OURS, UNITS, Unit

HISTORY = 3 * 365  # days
SITE = {site.code: site for site in SITES}
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")

# days between two rounds as the shop drives them, and between two condenser cleanings as it aims at
BEAT = {"greasy": (30, 30), "dusty": (45, 46), "outdoor": (67, 68), "clean": (90, 91)}
QUARTERLY = ("glycol_strength_check", "pump_check", "strainer_clean", "trunk_check")

BURNING, STARVING = "GU-0401", "GU-0501"
PLANTED = {
    BURNING: (BURNT_SWITCH, (612, 431, 262, 96), "power_switch"),
    STARVING: (STARVED_PUMP, (690, 497, 305, 131), "pump"),
}
YESTERDAY = ("GU-0302", "GU-0701", "GU-0103", "GU-1001", "GU-0802", "GU-0801")
YESTERDAYS_CAUSES = ("pump_seized", "controller_dark", "fan_seized")
# parts that fail by that or by a planted cause shall fail by nothing else
RESERVED = {tag: {"pump", "temperature_controller", "condenser_fan"} for tag in YESTERDAY}
RESERVED |= {tag: {kind} for tag, (_, _, kind) in PLANTED.items()} | {"GU-0601": {"compressor"}}
WAITING = ("GU-0601", 6, "compressor_dead")

# unit, days ago, component, firm: attendances by other firms that we only heard of
BY_OTHERS = (
    ("GU-0105", 540, "thermostat-1", "Bluffside Cold Service"),
    ("GU-0201", 388, "motor-1", "Osk Valley Handyman"),
    ("GU-0402", 220, "fan-1", "Bluffside Cold Service"),
    ("GU-0801", 150, "contactor-1", "Thresher Electric"),
    ("GU-1002", 733, "pump-1", "Bluffside Cold Service"),
)
# unit -> component, by whom: reported to us at the latest round before that many days ago
REPORTED = {"GU-0103": ("switch-2", "others"), "GU-0901": ("cord-1", "us")}
REPORTED_BEFORE = 160

LEFT_UNDONE = {
    "GU-0202": ("electrical_check", "No outage could be had, the hall was let out."),
    "GU-1002": ("trunk_check", "Ceiling void locked, nobody had the key."),
}
EXCUSES = ("Bar too busy, no access behind the counter.", "Ladder was lent out.", "Private party, asked to come back.")


@dataclass(frozen=True, slots=True)
class Job:
    """One visit to be written.

    `skipped` are tasks not done, with the reason. `fits_part`: what failed is replaced now. `part` with `firm` or
    `told_by` is a replacement that we only heard of.
    """

    day: date
    unit: Unit
    kind: str
    tasks: tuple[str, ...] = ()
    skipped: dict[str, str] = field(default_factory=dict)
    cause: Cause | None = None
    fits_part: bool = True
    part: str | None = None
    firm: str | None = None
    reported_by: str | None = None

    @property
    def place(self) -> Place:
        """Where the unit stands."""
        return SITE[self.unit.site]


def is_open(site: Place, day: date) -> bool:
    """Whether the site is open on that day."""
    return WEEKDAYS[day.weekday()] not in site.closed


def _working_day(site: Place, day: date, step: int) -> date:
    """The day, or the nearest in that direction on which the site is open and we drive (not on Sundays)."""
    while day.weekday() == 6 or not is_open(site, day):
        day += timedelta(days=step)
    return day


def _round_days(site: Place, today: date, rng: Random) -> Iterator[date]:
    """The days of the site's rounds, the latest first."""
    beat, interval = BEAT[site.surroundings]
    latest = today + timedelta(days=site.next_due - interval)
    # a due-today promise holds on Sundays too, so the latest round only gives way to closed doors
    while not is_open(site, latest):
        latest -= timedelta(days=1)
    yield latest
    for number in range(1, HISTORY // beat):
        yield _working_day(site, latest - timedelta(days=number * beat + rng.randint(-2, 2)), 1)


def _lag(site: Place, period: int, done_ago: int, number: int) -> bool:
    """Whether work of that period [days] belongs to the round so many before the latest."""
    every = max(period // BEAT[site.surroundings][0], 1)
    return number % every == done_ago % every


def _round_tasks(site: Place, number: int) -> tuple[str, ...]:
    quarterly, half_yearly, yearly = site.lags
    tasks = ["condenser_clean", "bath_level_check"]
    if _lag(site, 91, quarterly, number):
        tasks += QUARTERLY
    deep = (92, quarterly + 1) if site.surroundings == "greasy" else (182, half_yearly)
    if _lag(site, *deep, number):
        tasks.append("condenser_deep_clean")
    if _lag(site, 182, half_yearly, number):
        tasks.append("controller_check")
    if _lag(site, 365, yearly, number):
        tasks.append("electrical_check")
    return tuple(tasks)


def _in_service(unit: Unit, day: date, today: date) -> bool:
    """Whether the unit had stood there for a fortnight and was not yet retired."""
    age = HISTORY if unit.age is None else min(unit.age - 14, HISTORY)
    ago = (today - day).days
    return (unit.retired or 0) < ago <= age


def _skips(unit: Unit, tasks: tuple[str, ...], *, ago: int, number: int, rng: Random) -> dict[str, str]:
    """Which of the round's tasks could not be done, and why."""
    if unit.tag == BURNING and any(age < ago < age + 75 for age in PLANTED[BURNING][1]):
        return {"condenser_clean": "Smokers were lit below it; too hot and too greasy to reach."}
    if number == 0 and unit.tag in LEFT_UNDONE and LEFT_UNDONE[unit.tag][0] in tasks:
        return dict([LEFT_UNDONE[unit.tag]])
    if ago > 100 and "trunk_check" in tasks and rng.random() < 0.04:
        return {"trunk_check": rng.choice(EXCUSES)}
    return {}


def _rounds(unit: Unit, days: list[date], today: date, rng: Random) -> Iterator[Job]:
    """The rounds at one unit; once in the record the glycol is changed."""
    change_after = rng.randint(120, 600)
    changed = reported = False
    for number, day in enumerate(days):
        if not _in_service(unit, day, today):
            continue
        ago = (today - day).days
        tasks = _round_tasks(SITE[unit.site], number)
        if ago >= change_after and not changed:
            tasks, changed = (*tasks, "glycol_change"), True
        report = None
        if ago >= REPORTED_BEFORE and not reported and unit.tag in REPORTED:
            report, reported = REPORTED[unit.tag], True
        skipped = _skips(unit, tasks, ago=ago, number=number, rng=rng)
        part, by = report or (None, None)
        yield Job(day, unit, "maintenance", tasks, skipped, part=part, reported_by=by)


def _called(unit: Unit, cause: Cause, day: date, today: date) -> Iterator[Job]:
    """A call and, where it is not over with that, the visit after it."""
    waits = cause.outcome in ("down", "waiting_for_parts")
    yield Job(day, unit, "service_call", tuple(cause.tasks), cause=cause, fits_part=not waits)
    later = 5 if cause.outcome == "waiting_for_parts" else 1
    back = _working_day(SITE[unit.site], day + timedelta(days=later), 1)
    if cause.outcome != "running" and back < today and (today - day).days > 10:
        yield Job(back, unit, "follow_up", ("follow_up",), cause=cause, fits_part=waits)


def _suits(unit: Unit, cause: Cause, used: set[str | None], ago: int) -> bool:
    """Whether this can be the trouble: the part exists, did not fail before, and the filth is long past."""
    if cause.part and (cause.part in used or not part_codes(unit.model, cause.part)):
        return False
    return ago > 400 or not {"heavy", "blocked"} & set(cause.tasks.values())


def _call_days(unit: Unit, today: date, rng: Random) -> Iterator[date]:
    """Days on which somebody called, a month apart at the least, more of them in summer."""
    oldest = HISTORY - 20 if unit.age is None else min(unit.age - 40, HISTORY - 20)
    newest = max((unit.retired or 0) + 10, 45)
    span = oldest - newest
    if span < 60:
        return
    yearly = 1.9 if SITE[unit.site].surroundings == "greasy" else 1.4
    count = max(round(span / 365 * yearly + rng.uniform(-0.7, 0.7)), 1)
    for number in range(count):
        slots = [newest + int(span * (number + rng.random() * 0.7) / count) for _ in range(2)]
        hot = max(slots, key=lambda ago: -abs((today - timedelta(days=ago)).month - 7))
        yield _working_day(SITE[unit.site], today - timedelta(days=hot), -1)


def _calls(today: date, seed: int) -> Iterator[Job]:
    """Calls by chance: the causes go round, so that every one of them turns up."""
    waiting = list(CAUSES)
    for unit in UNITS:
        rng = Random(f"{seed} calls {unit.tag}")  # noqa: S311 - an invented fleet, no secret
        used: set[str | None] = set(RESERVED.get(unit.tag, ()))
        for day in _call_days(unit, today, rng):
            cause = next((c for c in waiting if _suits(unit, c, used, (today - day).days)), None)
            if cause is not None:
                waiting.append(waiting.pop(waiting.index(cause)))
                used.add(cause.part)
                yield from _called(unit, cause, day, today)


def _planted(today: date) -> Iterator[Job]:
    """The two stories, what others did, and what happened in the last days."""
    by_tag = {unit.tag: unit for unit in UNITS}
    for tag, (cause, ages, _) in PLANTED.items():
        for age in ages:
            day = _working_day(SITE[by_tag[tag].site], today - timedelta(days=age), 1)
            yield from _called(by_tag[tag], cause, day, today)
    for tag, age, part, firm in BY_OTHERS:
        yield Job(today - timedelta(days=age), by_tag[tag], "service_call", part=part, firm=firm)
    tag, age, code = WAITING
    yield from _called(
        by_tag[tag], BY_CODE[code], _working_day(SITE[by_tag[tag].site], today - timedelta(days=age), -1), today
    )
    yesterday = today - timedelta(days=1)
    yesterdays = [
        by_tag[tag] for tag in YESTERDAY if all(is_open(SITE[by_tag[tag].site], day) for day in (today, yesterday))
    ]
    for unit, code in zip(yesterdays, YESTERDAYS_CAUSES, strict=False):
        yield from _called(unit, BY_CODE[code], yesterday, today)


def _installations(today: date) -> Iterator[Job]:
    for unit in UNITS:
        if unit.by == OURS and unit.age is not None and unit.age < HISTORY:
            tasks = ("electrical_check", "controller_check", "glycol_strength_check", "bath_level_check")
            yield Job(today - timedelta(days=unit.age), unit, "installation", tasks)


def _all_jobs(today: date, seed: int) -> Iterable[Job]:
    for site in SITES:
        rng = Random(f"{seed} rounds {site.code}")  # noqa: S311 - an invented fleet, no secret
        days = list(_round_days(site, today, rng))
        for unit in UNITS:
            if unit.site == site.code:
                yield from _rounds(unit, days, today, rng)
    yield from _calls(today, seed)
    yield from _planted(today)
    yield from _installations(today)


def jobs(today: date, seed: int) -> list[Job]:
    """All visits, in the order of their days; on one day rounds come before calls."""
    order = ("installation", "maintenance", "follow_up", "service_call")
    return sorted(_all_jobs(today, seed), key=lambda job: (job.day, order.index(job.kind), job.unit.tag))
