"""Due items and lists with pauses, closures and ends, against a plain model of DEVELOPERS.md, "Due dates"."""

from calendar import monthrange
from datetime import UTC, date, datetime, timedelta
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.api.resources.following import export, imported

MONTHS = {"pump_check": 3, "controller_check": 6, "electrical_check": 12, "trunk_check": 3}  # no grade changes these
DAY = timedelta(days=1)
FIRST, FAR = date(2026, 1, 1), date(2030, 1, 1)  # no pause that ends reaches the far day


def later(day: date, months: int) -> date:
    """So many months on; a day that the month lacks becomes its last."""
    years, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


class Model:
    """One unit: when its tasks were done, and the days on which it or its site is out of service."""

    def __init__(self) -> None:
        self.registered, self.installed = date(2026, 6, 9), date(2024, 2, 29)
        self.care_from: date | None = None
        self.closed: set[int] = set()
        self.done: dict[str, list[tuple[date, bool]]] = {task: [] for task in MONTHS}  # day, by us
        self.latest: tuple[date, str] | None = None
        self.spans: dict[tuple[str, int], tuple[date, date | None]] = {}
        self.ends: dict[str, date] = {}

    def paused(self, day: date) -> bool:
        return any(first <= day and (last is None or day <= last) for first, last in self.spans.values())

    def off(self, day: date) -> bool:
        """Neither in our care nor in service."""
        return self.paused(day) or any(end <= day for end in self.ends.values())

    def on_open_day(self, day: date, anchor: date) -> date | None:
        if not self.paused(day):
            if day.weekday() not in self.closed:
                return day
            before = day
            while before.weekday() in self.closed:
                before -= DAY
            if before > anchor and not self.paused(before):
                return before
        while day < FAR and (self.paused(day) or day.weekday() in self.closed):
            day += DAY
        return None if day >= FAR else day

    def due_on(self, task: str) -> date | None:
        last = max(self.done[task], default=None)
        anchor = last[0] if last else self.installed
        day = later(anchor, MONTHS[task])
        ours = last is not None and last[1]
        earliest = self.care_from or (None if ours else self.registered)
        if earliest is not None and day < earliest:
            day, anchor = earliest, earliest - DAY
        return self.on_open_day(day, anchor)

    def due(self) -> dict[str, str]:
        """What is due, whatever day it is."""
        found = {task: self.due_on(task) for task in MONTHS}
        if self.latest is not None and self.latest[1] == "down":
            found["follow_up"] = self.on_open_day(self.latest[0] + DAY, self.latest[0])
        end = min(self.ends.values(), default=date.max)
        return {task: day.isoformat() for task, day in found.items() if day is not None and day < end}

    def shown(self, today: date) -> dict[str, str]:
        """What the unit has due today: nothing while it is off and no day of return is known."""
        back = any(not self.off(today + n * DAY) for n in range((FAR - today).days))
        return self.due() if back else {}

    def listed(self, today: date, horizon: int) -> set[str]:
        """What is on the list: nothing while the unit is off on every day of it."""
        days = [today + n * DAY for n in range(horizon + 1)]
        if all(map(self.off, days)):
            return set()
        return {task for task, day in self.due().items() if day <= days[-1].isoformat()}


DAYS = st.integers(0, 300).map(lambda n: FIRST + n * DAY)
SOON = st.integers(0, 150).map(lambda n: FIRST + n * DAY)
SPANS = st.tuples(DAYS, st.none() | st.integers(0, 120))
WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
PATHS = {"unit": "/v1/units/GU-0007", "site": "/v1/sites/lantern-quay", "customer": "/v1/customers/lantern"}
LISTS = {"unit": f"{PATHS['unit']}/pauses", "site": f"{PATHS['site']}/closures"}


def patch(shop, path: str, body: dict[str, Any]) -> None:
    shop.patch(path, body, shop.get(path)["version"])


def span_step(shop, model: Model, of: str, number: int, span: tuple[date, date | None], change: bool) -> None:
    """Record or change a pause in both, or see it refused for an overlap in both."""
    first, last = span
    others = [each for key, each in model.spans.items() if key[0] == of and key != (of, number)]
    overlaps = any(first <= (b or date.max) and a <= (last or date.max) for a, b in others)
    body = {"from": first.isoformat(), "until": last and last.isoformat(), "reason": "off"}
    path = LISTS[of]
    if change:
        version = shop.get(f"{path}/{number}")["version"]
        answer = shop.ask("PATCH", f"{path}/{number}", body | {"withdrawn": False}, If_Match=f'"{version}"')
    else:
        answer = shop.ask("POST", path, body)
    assert answer.status_code == (409 if overlaps else 200 if change else 201), answer.text
    if not overlaps:
        model.spans[of, answer.json["number"]] = span


def visited(shop, model: Model, day: date, task: str, down: bool) -> None:
    outcome = "down" if down else "running"
    shop.visit(day.isoformat(), tasks=[{"task": task, "result": "done"}], outcome=outcome)
    model.done[task].append((day, True))
    if model.latest is None or day >= model.latest[0]:
        model.latest = (day, outcome)


def spanned(shop, model: Model, of: str, span: tuple[date, int | None]) -> None:
    first, length = span
    span_step(shop, model, of, 0, (first, None if length is None else first + length * DAY), change=False)


def changed(shop, model: Model, which: int, length: int, withdrawn: bool) -> None:
    if not model.spans:
        return
    (of, number), (first, _) = sorted(model.spans.items(), key=lambda each: each[0])[which % len(model.spans)]
    if withdrawn:
        patch(shop, f"{LISTS[of]}/{number}", {"withdrawn": True})
        del model.spans[of, number]
    else:
        span_step(shop, model, of, number, (first, first + length * DAY), change=True)


def taken_over(shop, model: Model, day: date | None) -> None:
    patch(shop, PATHS["unit"], {"care_from": day and day.isoformat()})
    model.care_from = day


def reported(shop, model: Model, task: str, day: date) -> None:
    patch(shop, PATHS["unit"], {"last_done": [{"task": task, "on": day.isoformat()}]})
    model.done = {name: [each for each in known if each[1]] for name, known in model.done.items()}
    model.done[task].append((day, False))


def ended(shop, model: Model, of: str, day: date | None) -> None:
    if of == "unit" and day is not None:
        day += timedelta(days=151)  # no visit is later than the unit's retirement
    patch(shop, PATHS[of], {"retired_on" if of == "unit" else "ended_on": day and day.isoformat()})
    model.ends = {name: end for name, end in model.ends.items() if name != of} | ({of: day} if day else {})


def closed(shop, model: Model, weekdays: set[int]) -> None:
    patch(shop, PATHS["site"], {"closed_weekdays": [WEEK[n] for n in sorted(weekdays)]})
    model.closed = weekdays


def compare(shop, model: Model, today: date, horizon: int) -> None:
    """Whatever day it is, both say the same."""
    shop.now = datetime(today.year, today.month, today.day, 18, tzinfo=UTC)
    wanted = {*MONTHS, "follow_up"}
    due = {task: item["due_on"] for task, item in shop.due().items() if task in wanted}
    assert due == model.shown(today), (today, model.spans, model.ends)
    stops = shop.get(f"/v1/pm-list?horizon_days={horizon}")["stops"]
    listed = {item["task"] for stop in stops for item in stop["items"]} & wanted
    assert listed == model.listed(today, horizon), (today, horizon, model.spans, model.ends)


STEPS = st.one_of(
    st.tuples(st.just(visited), SOON, st.sampled_from(list(MONTHS)), st.booleans()),
    st.tuples(st.just(spanned), st.just("unit"), SPANS),
    st.tuples(st.just(spanned), st.just("site"), SPANS.filter(lambda span: span[1] is not None)),
    st.tuples(st.just(changed), st.integers(0, 5), st.integers(0, 120), st.booleans()),
    st.tuples(st.just(taken_over), st.none() | DAYS),
    st.tuples(st.just(reported), st.sampled_from(list(MONTHS)), SOON),
    st.tuples(st.just(ended), st.sampled_from(["unit", "site", "customer"]), st.none() | DAYS),
    st.tuples(st.just(closed), st.sets(st.sampled_from([0, 1, 5, 6]), max_size=3)),
)


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(STEPS, min_size=1, max_size=14), looks=st.lists(st.tuples(DAYS, st.integers(0, 60)), max_size=4))
def test_pauses_closures_and_ends_against_a_plain_model(shop, steps, looks) -> None:
    model = Model()
    shop.empty()
    shop.unit(installed_on="2024-02-29")
    model.closed = {0}  # the example's site is closed on Mondays
    now = shop.now
    for step in steps:
        step[0](shop, model, *step[1:])
        compare(shop, model, date(2026, 6, 9), 7)
        shop.now = now
    for look in looks:
        compare(shop, model, *look)
    shop.now = now
    lines = export(shop)
    imported(shop, lines)
    assert export(shop) == lines
    for look in looks:
        compare(shop, model, *look)
