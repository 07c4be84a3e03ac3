"""A company of two technicians takes over a fleet, accepts a plan, and works each day what it assigns from the list."""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Any
from uuid import UUID

CARE, FROM = date(2026, 6, 8), date(2026, 6, 15)  # Mondays
TECHNICIANS = ("rhea", "tobin")
HOURS = 8  # of each technician a day
RESERVE = 2  # hours a day of both that the plan leaves for calls
CALLS_A_DAY = 0.6
TASKS = ("condenser_clean", "glycol_strength_check", "pump_check", "trunk_check", "controller_check", "glycol_change")
CLOSED: list[list[str]] = [[], ["monday"], ["sunday"], ["sunday", "monday"]]
OUTER = timedelta(days=183)  # 6 months, the longest interval of the catalogue for a condenser
GRACE = timedelta(days=45)  # judged: what was beyond its limit at the takeover is seen in the first half of the quarter


@dataclass
class Quarter:
    """What was played: by day and technician the minutes assigned, each condenser's first cleaning, calls by age."""

    shop: Any
    chance: Random
    units: dict[str, str] = field(default_factory=dict)
    known: dict[str, date | None] = field(default_factory=dict)
    minutes: dict[tuple[date, str], int] = field(default_factory=dict)
    listed: list[int] = field(default_factory=list)
    seen: dict[str, date] = field(default_factory=dict)
    calls: dict[str, date] = field(default_factory=dict)
    answered_after: list[int] = field(default_factory=list)
    left_over: int = 0

    def identity(self) -> str:
        """A UUID that the seed decides."""
        return str(UUID(int=self.chance.getrandbits(128), version=4))

    def take_over(self, units: int) -> None:
        """Customers with two or three units a site, some work of the former company known, some not."""
        self.shop.patch("/v1/company", {"hours_per_day": HOURS}, 0)
        for code in TECHNICIANS:
            self.shop.post("/v1/technicians", {"code": code, "name": code.capitalize()})
        self.shop.post("/v1/customers", {"code": "lantern", "name": "Lantern"})
        for n in range(max(1, units * 2 // 5)):
            site = {"surroundings": self.chance.choice(["clean", "greasy", "dusty"]), "care_from": CARE.isoformat()}
            closed = {"closed_weekdays": self.chance.choice(CLOSED), "time_zone": "America/Denver"}
            self.shop.post(
                "/v1/sites", {"code": f"site-{n:02}", "customer": "lantern", "name": f"Site {n}", **site, **closed}
            )
        for n in range(units):
            self._unit(f"GU-{n:04}", f"site-{self.chance.randrange(max(1, units * 2 // 5)):02}")

    def _unit(self, tag: str, site: str) -> None:
        installed = CARE - timedelta(days=self.chance.randrange(400, 4700))
        done = {task: self._reported() for task in TASKS if self.chance.random() < 0.5}
        last_done = [{"task": task, "on": on} for task, on in done.items()]
        body = {"tag": tag, "site": site, "installed_on": installed.isoformat(), "last_done": last_done}
        self.shop.post("/v1/units", body)
        self.units[tag] = site
        on = done.get("condenser_clean")
        self.known[tag] = None if on is None else date.fromisoformat(on + "-01-01"[: 10 - len(on)])

    def _reported(self) -> str | None:
        day = (CARE - timedelta(days=self.chance.randrange(20, 600))).isoformat()
        return self.chance.choice([None, day[:4], day[:7], day, day])

    def accept_plan(self, weeks: int) -> None:
        """Shown first, then accepted."""
        asked = {"from": FROM.isoformat(), "weeks": weeks, "hours_per_day": HOURS * len(TECHNICIANS) - RESERVE}
        self.shop.now = datetime.combine(FROM - timedelta(days=3), time(15), UTC)
        shown = self.shop.ask("POST", "/v1/onboarding-plans?dry_run=true", asked).json
        accepted = self.shop.ask("POST", "/v1/onboarding-plans", asked).json
        assert shown["days"] == accepted["days"]

    def day(self, day: date) -> None:
        """Calls come in; on a working day the list is assigned and worked."""
        self.shop.now = datetime.combine(day, time(14), UTC)  # 08:00 in Denver
        if self.chance.random() < CALLS_A_DAY:
            self._call(day)
        stops = self.shop.get("/v1/pm-list")["stops"]
        items = [item | {"site": stop["site"]} for stop in stops for item in stop["items"]]
        on_list = {item["call"] for item in items if item["call"]}
        assert on_list == self.calls.keys(), f"{day}: open calls {self.calls.keys() - on_list} are not on the list"
        if day.weekday() < 5:
            self.listed.append(sum(item["minutes"] for item in items))
            self._work(day, self._assign(day, items))

    def _call(self, day: date) -> None:
        unit = self.chance.choice(sorted(self.units))
        made = {"id": self.identity(), "unit": unit, "symptom": "warm_pour", "urgency": "today",
                "received_at": f"{day}T13:30:00Z"}  # fmt: skip
        self.shop.post("/v1/calls", made)
        self.calls[made["id"]] = day

    def _assign(self, day: date, items: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
        """Unit by unit in the order of the list, a site to one technician while the hours suffice."""
        load, at_site, given = dict.fromkeys(TECHNICIANS, 0), {}, defaultdict(list)
        by_unit: dict[str, list[dict[str, Any]]] = defaultdict(list)
        for item in items:
            by_unit[item["unit"]].append(item)
        for unit, own in by_unit.items():
            site, minutes = own[0]["site"], sum(item["minutes"] for item in own)
            wanted = sorted(TECHNICIANS, key=lambda code: (at_site.get(site) != code, load[code]))
            who = next((code for code in wanted if load[code] + minutes <= HOURS * 60), None)
            if who is None:
                self.left_over += 1
                continue
            self.shop.post("/v1/assignments", {"site": site, "unit": unit, "technician": who, "day": day.isoformat()})
            load[who] += minutes
            at_site[site] = who
            given[who].append(unit)
        self.minutes |= {(day, code): load[code] for code in TECHNICIANS}
        return {code: self._own_list(code, units) for code, units in given.items()}

    def _own_list(self, code: str, units: list[str]) -> list[dict[str, Any]]:
        """A technician's list, which has what was assigned, within the hours."""
        shown = self.shop.get(f"/v1/pm-list?technician={code}")["stops"]
        items = [item for stop in shown for item in stop["items"]]
        assert {item["unit"] for item in items} == set(units)
        assert sum(item["minutes"] for item in items) <= HOURS * 60
        return items

    def _work(self, day: date, lists: dict[str, list[dict[str, Any]]]) -> None:
        self.shop.now = datetime.combine(day + timedelta(days=1), time(1), UTC)  # 19:00 in Denver
        for code, items in lists.items():
            by_unit: dict[str, list[dict[str, Any]]] = defaultdict(list)
            for item in items:
                by_unit[item["unit"]].append(item)
            for unit, own in by_unit.items():
                self._visit(day, code, unit, own)

    def _visit(self, day: date, code: str, unit: str, items: list[dict[str, Any]]) -> None:
        tasks = dict.fromkeys(task for item in items if not item["call"] for task in (item["task"], *item["includes"]))
        calls = [item["call"] for item in items if item["call"]]
        outcome = "recovering" if calls and self.chance.random() < 0.3 else "running"
        grades = {"as_found": self.chance.choice(["clean", "light", "light", "heavy"])}
        done = [{"task": task, "result": "done"} | (grades if task.startswith("condenser") else {}) for task in tasks]
        body = {"id": self.identity(), "unit": unit, "kind": "service_call" if calls else "maintenance",
                "arrived_at": f"{day}T18:00:00Z", "technician": code, "tasks": done, "calls": calls,
                "outcome": outcome}  # fmt: skip
        self.shop.post("/v1/visits", body)
        if any(task.startswith("condenser") for task in tasks):
            self.seen.setdefault(unit, day)
        self.answered_after += [(day - self.calls.pop(call)).days for call in calls]

    def too_late(self, last: date) -> list[str]:
        """Units whose condenser was not seen within its outer limit, or within the grace where that was over.

        The limit counts from the first day on which it may have last been done, else from our care.
        """
        limits = {tag: max((on or CARE) + OUTER, FROM + GRACE) for tag, on in self.known.items()}
        return [tag for tag, limit in sorted(limits.items()) if self.seen.get(tag, last) > min(limit, last)]


def played(shop: Any, seed: int, *, units: int, weeks: int, days: int) -> Quarter:
    """A fleet taken over, its plan accepted, and so many days."""
    shop.now = datetime.combine(CARE, time(15), UTC)
    quarter = Quarter(shop, Random(seed))
    quarter.take_over(units)
    quarter.accept_plan(weeks)
    for n in range(days):
        quarter.day(FROM + timedelta(days=n))
    return quarter
