"""What was recorded, and what follows from it by the guide: locations, due items, lists and histories."""

from collections.abc import Iterator
from copy import copy, deepcopy
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from tests.fleet_model.days import DAY, Performed, Spans, UnitDays, inside
from tests.summary_recount.due_dates import CATALOGUE

URGENCY = ["now", "today", "this_week", "can_wait"]
RANK = ["down", "call", "parts", "follow_up", "root_cause", "pm"]
FIRST = ("condenser_clean", "glycol_strength_check", "bath_level_check")
LAST = ("condenser_deep_clean", "glycol_change", "controller_check")
DONE_BY = {
    "condenser_clean": "condenser_deep_clean",
    "glycol_strength_check": "glycol_change",
    "bath_level_check": "glycol_change",
}
WAITS = {"now": 0, "today": 0, "this_week": 7, "can_wait": 30}  # days until a call without a promise is due
Key = tuple[int, float, float, str]


@dataclass
class Site:
    """A site; `order` is that of the registration, `ended` the first day on which it is served no more."""

    order: int
    zone: str
    closed: set[int]
    surroundings: str | None
    customer: str
    ended: date | None = None
    closures: dict[int, tuple[date, date | None]] = field(default_factory=dict)


@dataclass
class Unit:
    """A unit; `moves` are (from, site) as recorded, the first without a day; `tags` are all it had, the present last.

    `retagged` are the instants at which it got another tag, `replaces` is the unit in whose place it was put.
    """

    order: int
    installed: date
    registered: date
    moves: list[tuple[date | None, str]]
    care_from: date | None = None
    pauses: dict[int, tuple[date, date | None]] = field(default_factory=dict)
    own: dict[str, tuple[str, int] | None] = field(default_factory=dict)
    tags: list[str] = field(default_factory=list)
    retagged: list[str] = field(default_factory=list)
    retired: date | None = None
    replaces: str | None = None


@dataclass
class Item:
    """An item of the list."""

    site: str | None
    unit: str | None
    key: Key
    work: str
    item: str


def text(instant: datetime) -> str:
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def end_of(day: date, zone: str) -> datetime:
    return datetime.combine(day + DAY, time(), ZoneInfo(zone)).astimezone(UTC) - timedelta(microseconds=1)


@dataclass
class Model:
    """The records at one moment."""

    now: datetime
    office: str = "UTC"  # the company's time zone
    sites: dict[str, Site] = field(default_factory=dict)
    units: dict[str, Unit] = field(default_factory=dict)
    visits: dict[str, dict[str, Any]] = field(default_factory=dict)
    calls: dict[str, dict[str, Any]] = field(default_factory=dict)
    plans: dict[int, dict[str, Any]] = field(default_factory=dict)
    settings: dict[str, tuple[str, int]] = field(default_factory=dict)
    ended: dict[str, date | None] = field(default_factory=dict)  # by customer
    leave: dict[str, tuple[date, date]] = field(default_factory=dict)  # by technician
    events: list[tuple[str, str, str]] = field(default_factory=list)  # unit, event, instant: moves of visits
    ahead: date | None = None  # a day to come, whose list is asked for

    def copy(self) -> "Model":
        return deepcopy(self)

    # --- where and when

    def locations(self, tag: str) -> list[tuple[date | None, str]]:
        """Those that count: of one day the last recorded, and none at the site of the one before."""
        latest: dict[date | None, str] = dict(self.units[tag].moves)
        found: list[tuple[date | None, str]] = []
        for day, site in sorted(latest.items(), key=lambda each: each[0] or date.min):
            if not found or found[-1][1] != site:
                found.append((day, site))
        return found

    def begins(self, day: date | None, site: str) -> datetime:
        if day is None:
            return datetime.min.replace(tzinfo=UTC)
        return datetime.combine(day, time(), ZoneInfo(self.sites[site].zone)).astimezone(UTC)

    def site_at(self, tag: str, instant: datetime) -> str:
        known = self.locations(tag)
        return next((site for day, site in reversed(known) if self.begins(day, site) <= instant), known[0][1])

    def here(self, tag: str) -> str:
        """Where it stands now, or will from the beginning of the day to come."""
        if self.ahead is None:
            return self.site_at(tag, self.now)
        return next(site for day, site in reversed(self.locations(tag)) if (day or date.min) <= self.ahead)

    def local(self, instant: datetime, site: str | None) -> date:
        return instant.astimezone(ZoneInfo(self.sites[site].zone if site else self.office)).date()

    def today(self, site: str | None) -> date:
        return self.ahead or self.local(self.now, site)

    def day_of(self, visit: dict[str, Any]) -> date:
        return self.local(visit["at"], self.site_at(visit["unit"], visit["at"]))

    def counting(self, tag: str) -> list[dict[str, Any]]:
        found = [each for each in self.visits.values() if each["unit"] == tag and not each["void"]]
        return sorted(found, key=lambda each: (each["at"], each["n"]))

    def away(self, tag: str) -> Spans:
        """Pauses of the unit, and closures of each site on the days on which it stood there."""
        found = list(self.units[tag].pauses.values())
        known = self.locations(tag)
        for n, (begin, site) in enumerate(known):
            ends = None
            if n + 1 < len(known):
                ends = self.local(self.begins(*known[n + 1]) - timedelta(microseconds=1), site)
            for first, last in self.sites[site].closures.values():
                a = max(first, begin or date.min)
                b = min(last or date.max, ends or date.max)
                if a <= b:
                    found.append((a, None if b == date.max else b))
        return found

    def out(self, tag: str) -> date:
        """The first day on which the unit is no longer in our care: retired, its site or customer ended."""
        site = self.sites[self.here(tag)]
        return min(each or date.max for each in (self.units[tag].retired, site.ended, self.ended.get(site.customer)))

    def ended_at(self, site: str, day: date) -> bool:
        """Whether a site, or its customer, is no longer in our care on a day."""
        ends = (self.sites[site].ended, self.ended.get(self.sites[site].customer))
        return any(each is not None and day >= each for each in ends)

    def idle(self, site: str, tag: str | None, day: date) -> bool:
        """Whether nothing can be done on a day at a site, or at one unit there."""
        unit = None if tag is None else self.units[tag]
        spans = [*self.sites[site].closures.values(), *(unit.pauses.values() if unit else ())]
        retired = unit is not None and unit.retired is not None and day >= unit.retired
        return retired or self.ended_at(site, day) or inside(day, spans)

    def too_late(self, tag: str, at: datetime) -> bool:
        """Whether a visit would be after the retirement; on its day the unit may still be visited."""
        return self.local(at, self.site_at(tag, at)) > (self.units[tag].retired or date.max)

    def tag(self, unit: str | None) -> str | None:
        """The present tag of a unit."""
        return None if unit is None else self.units[unit].tags[-1]

    def replaced_by(self, tag: str) -> str | None:
        return next((other for other, each in self.units.items() if each.replaces == tag), None)

    def in_service(self) -> list[str]:
        """The present tags of the units that are not retired."""
        return [
            each.tags[-1]
            for key, each in self.units.items()
            if each.retired is None or each.retired > self.today(self.here(key))
        ]

    def absent(self, tag: str) -> Spans:
        """The days on which nothing of the unit is listed."""
        out = self.out(tag)
        return [*self.away(tag), *([(out, None)] if out < date.max else [])]

    # --- due items

    def interval(self, tag: str, task: str) -> tuple[str, int] | None:
        own = self.units[tag].own
        return own[task] if task in own else self.settings.get(task, ("months", CATALOGUE[task][0]))

    def days(self, tag: str) -> UnitDays:
        unit, site, counting = self.units[tag], self.sites[self.here(tag)], self.counting(tag)
        stated = [each for each in counting if each["outcome"]]
        performed = [
            Performed(self.day_of(each), task, result, grade)
            for each in counting
            for task, result, grade in each["tasks"]
        ]
        latest = stated[-1] if stated else None
        return UnitDays(
            installed=unit.installed,
            registered=unit.registered,
            care_from=unit.care_from,
            closed=site.closed,
            surroundings=site.surroundings,
            away=self.away(tag),
            performed=[each for each in performed if each.task != "follow_up"],
            interval=lambda task: self.interval(tag, task),
            outcome=latest and (self.day_of(latest), latest["outcome"], latest["promised"]),
            follow_ups=[e.day for e in performed if e.task == "follow_up" and e.result != "not_done"],
        )

    def due(self, tag: str) -> dict[str, str]:
        """What the unit has due: nothing while it is out of service without a known return, or from its end on."""
        away, today, out = self.absent(tag), self.today(self.here(tag)), self.out(tag)
        for first in (first for first, last in away if last is None):
            if all(inside(today + n * DAY, away) for n in range((first - today).days)):
                return {}
        return {task: day.isoformat() for task, (day, _) in self.days(tag).due().items() if day < out}

    # --- the list

    def waiting(self) -> list[dict[str, Any]]:
        answered = {call for each in self.visits.values() if not each["void"] for call in each["calls"]}
        return [call for call in self.calls.values() if call["id"] not in answered and not call["closed"]]

    def site_of_call(self, call: dict[str, Any]) -> str | None:
        return self.site_at(call["unit"], call["at"]) if call["unit"] else call["site"]

    def due_of_call(self, call: dict[str, Any], *, with_follow_up: bool) -> date:
        """The end of what was promised; else by its urgency, with its unit's follow-up if that is sooner."""
        site = self.site_of_call(call)
        if call["promised"]:
            return self.local(call["promised"], site)
        received = self.local(call["at"], site)
        due = received + WAITS[call["urgency"]] * DAY
        if with_follow_up:
            due = min(due, self.days(call["unit"]).due()["follow_up"][0])
        return max(received, due)

    def latest(self, tag: str) -> str | None:
        stated = [each for each in self.counting(tag) if each["outcome"]]
        return stated[-1]["outcome"] if stated else None

    def of_unit(self, tag: str, today: date, horizon: int) -> list[Item]:
        """Due items of a unit on a day's list, the smaller of two that are done together left out."""
        site, last = self.here(tag), today + horizon * DAY
        spans = self.absent(tag)
        gone = all(inside(today + n * DAY, spans) for n in range(horizon + 1))
        found: dict[str, Item] = {}
        for task, (day, length) in self.days(tag).due().items():
            if day >= self.out(tag):
                continue
            if self.stands(site, tag, task, today, horizon, listed=day <= last and not gone):
                found[task] = Item(site, tag, self.key(tag, task, day, length, today), self.work(tag, task), task)
        for task, larger in DONE_BY.items():
            if task in found and larger in found:
                found[larger].key = min(found[larger].key, found.pop(task).key)
        return list(found.values())

    def work(self, tag: str, task: str) -> str:
        if task != "follow_up":
            return "pm"
        return {"down": "down", "waiting_for_parts": "parts"}.get(self.latest(tag) or "", "follow_up")

    def key(self, tag: str, task: str, day: date, length: int, today: date) -> Key:
        if task == "follow_up":
            return RANK.index(self.work(tag, task)), 0.0, 0.0, day.isoformat()
        late = (today - day).days
        urgency = 1 if task in FIRST else 3 if task in LAST else 2
        return 5, urgency + (10 if late < 0 else 0), -late / length, day.isoformat()

    def call_items(self) -> list[Item]:
        return [
            Item(self.site_of_call(c), c["unit"], (1, URGENCY.index(c["urgency"]), 0.0, text(c["at"])), "call", c["id"])
            for c in self.waiting()
        ]

    def stands(self, site: str, tag: str, task: str, today: date, horizon: int, *, listed: bool) -> bool:
        """Due and not planned for later, or brought forward to one of these days."""
        last = today + horizon * DAY
        ahead = any(
            (plan["site"], plan["unit"], plan["task"]) == (site, tag, task)
            and plan["day"] is not None and today <= plan["day"] <= last
            for plan in self.plans.values()
        )  # fmt: skip
        return (listed or ahead) and not self.goes(site, tag, task, today, horizon)[1]

    def works(self, who: str, day: date) -> bool:
        """Whether a technician is not on leave."""
        first, last = self.leave.get(who, (date.max, date.min))
        return not first <= day <= last

    def goes(self, site: str | None, tag: str | None, item: str, today: date, horizon: int) -> tuple[str | None, bool]:
        """(who goes there, nobody for one who is on leave today; whether only on a later day)."""
        who, later = self.assigned(site, tag, item, today, horizon)
        return who if who is not None and self.works(who, today) else None, later

    def day_assigned(self, target: tuple[str | None, str | None, str], due_on: date, days: tuple[date, date]) -> Any:
        """The day of a list to which an item is assigned; of a unit's or site's assignment what is due by its day."""
        site, tag, item = target
        for each in ((site, tag, item), (site, tag, None), (site, None, None)):
            holding = [
                plan["day"] or plan["postponed"] for plan in self.plans.values()
                if (plan["site"], plan["unit"], plan["task"]) == each
                and ((plan["day"] or date.min) >= days[0] or (plan["postponed"] or date.min) > days[1])
            ]  # fmt: skip
            if holding:
                return holding[-1] if holding[-1] <= days[1] and (each[2] or due_on <= holding[-1]) else None
        return None

    def assigned(
        self, site: str | None, tag: str | None, item: str, today: date, horizon: int
    ) -> tuple[str | None, bool]:
        """(who is to go there by the assignments or usually does, whether only on a later day)."""
        if site is None:
            return None, False
        usual = "rhea"
        for target in ((site, tag, item), (site, tag, None), (site, None, None)):
            holding = [
                plan for plan in self.plans.values()
                if (plan["site"], plan["unit"], plan["task"]) == target
                and (plan["day"] or plan["postponed"]) >= today
            ]  # fmt: skip
            if holding:
                plan = holding[-1]
                if (plan["day"] or plan["postponed"]) > today + horizon * DAY:
                    return usual, True
                if plan["day"] is not None:
                    return plan["who"], False
        return usual, False

    def listed(self, today_at: dict[str | None, date], horizon: int, who: str | None) -> list[Any]:
        """The list of now."""
        items = self.call_items()
        for tag in self.units:
            items += self.of_unit(tag, today_at[self.here(tag)], horizon)
        items = self.answered_together(items)
        if who is not None:
            wanted = []
            for each in items:
                if who == self.goes(each.site, each.unit, each.item, today_at[each.site], horizon)[0]:
                    wanted.append(each)
            items = wanted
        return self.in_order(items)

    @staticmethod
    def answered_together(items: list[Item]) -> list[Item]:
        """A follow-up is done by the visit that answers a call for its unit at its site."""
        left = []
        calls = [each for each in items if each.work == "call"]
        for each in items:
            same = [c for c in calls if c.unit == each.unit and c.site == each.site]
            if each.item == "follow_up" and same:
                first = min(same, key=lambda c: c.key)
                if each.key < first.key:
                    first.key, first.work = each.key, each.work
            else:
                left.append(each)
        return left

    def in_order(self, items: list[Item]) -> list[Any]:
        """[(site, class, [(unit, class, item)])], the worst first."""
        stops: dict[str | None, list[Item]] = {}
        for each in items:
            stops.setdefault(each.site, []).append(each)
        for found in stops.values():
            found.sort(key=lambda each: (each.key, self.tag(each.unit) or "", each.item))
        ranked = sorted(stops.items(), key=lambda stop: (stop[1][0].key, stop[0] or ""))
        return [
            (site, min((e.work for e in found), key=RANK.index), [(self.tag(e.unit), e.work, e.item) for e in found])
            for site, found in ranked
        ]

    # --- the history of a unit

    def history(self, tag: str) -> list[tuple[str, str]]:
        """(event, instant) of visits, tasks, calls, voids and moves; of the unit also those to come."""
        found = [(event, at) for unit, event, at in self.events if unit == tag]
        for each in self.visits.values():
            if each["unit"] == tag:
                found.append(("visit", text(each["at"])))
                found += each["voids"]
                found += [("task", text(each["at"]))] * len(each["tasks"])
        named = {call for each in self.visits.values() if each["unit"] == tag for call in each["calls"]}
        found += [("call", text(c["at"])) for c in self.calls.values() if c["unit"] == tag or c["id"] in named]
        found = [each for each in found if each[1] <= text(self.now)]
        found += [("unit_moved", text(self.begins(*each))) for each in self.locations(tag)[1:]]
        return sorted([*found, *self.of_record(tag)])

    def of_record(self, tag: str) -> Iterator[tuple[str, str]]:
        """(event, instant or day) of the unit's own record."""
        unit, successor = self.units[tag], self.replaced_by(tag)
        yield from (("tag_changed", at) for at in unit.retagged)
        if unit.retired is not None:
            yield "unit_retired", unit.retired.isoformat()
        if unit.replaces is not None:
            yield "unit_replaced", unit.installed.isoformat()
        if successor is not None:
            yield "unit_replaced", self.units[successor].installed.isoformat()


def past_list(story: list[Model], on: date, horizon: int, now: Model, who: str | None) -> list[Any]:
    """The list of a day that is over, by what had been recorded at its end at each site; leave as it is known now."""

    @cache
    def known_by(end: datetime) -> Model:
        known = [each for each in story if each.now <= end]
        then = (known[-1] if known else story[0]).copy()
        then.now, then.leave = end, now.leave
        return then

    everywhere = max(end_of(on, zone) for zone in {*(site.zone for site in now.sites.values()), now.office})
    settings = known_by(everywhere).settings
    items: list[Item] = []
    goes: dict[int, str | None] = {}
    for tag in now.units:
        if now.units[tag].registered > on:
            continue
        then = known_by(end_of(on, now.sites[now.here(tag)].zone))
        then = copy(known_by(end_of(on, then.sites[then.here(tag)].zone)))
        then.settings = settings
        then.plans = known_by(end_of(on, then.sites[then.here(tag)].zone)).plans  # beyond the date line another end
        for each in then.of_unit(tag, on, horizon):
            goes[id(each)] = then.goes(each.site, each.unit, each.item, on, horizon)[0]
            items.append(each)
    for call_id in now.calls:
        site = now.site_of_call(now.calls[call_id])
        then = known_by(end_of(on, now.sites[site].zone if site else now.office))
        for each in (each for each in then.call_items() if each.item == call_id):
            if each.unit is not None and each.site is not None:  # as for units, by the end of the day there
                each.site = known_by(end_of(on, then.sites[each.site].zone)).site_of_call(then.calls[call_id])
            there = then if each.site is None else known_by(end_of(on, now.sites[each.site].zone))
            goes[id(each)] = there.goes(each.site, each.unit, each.item, on, horizon)[0]
            items.append(each)
    items = now.answered_together(items)
    return now.in_order([each for each in items if who is None or goes[id(each)] == who])
