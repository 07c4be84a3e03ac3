"""Random steps, played over HTTP and in the model, and compared after each."""

import random
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

from service.usecases import locations
from tests.fleet_model.days import DAY
from tests.fleet_model.model import URGENCY, Model, Site, Unit, past_list, text

START = datetime(2026, 3, 2, 21, 0, tzinfo=UTC)
WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SITES = {
    "quay": ("America/Denver", {0}, "greasy", "lantern"),
    "pier": ("Europe/Berlin", set(), None, "heron"),
    "lock": ("Pacific/Auckland", {5, 6}, "dusty", "lantern"),
}
UNITS = {"GU-1": "quay", "GU-2": "quay", "GU-3": "pier", "GU-4": "pier", "GU-5": "lock"}
TASKS = (
    *("condenser_clean", "condenser_deep_clean", "glycol_change", "glycol_strength_check", "pump_check", "trunk_check"),
    *("strainer_clean", "controller_check", "follow_up"),
)
GRADED = ("condenser_clean", "condenser_deep_clean", "strainer_clean")
OUTCOMES = ("running", "recovering", "down", "waiting_for_parts", None)
PARTS = {"switch-1": "power_switch", "pump-1": "pump", "fan-1": "condenser_fan"}
OF_A_DAY = ("unit_retired", "unit_replaced")  # about noon of the day
WATCHED = (
    *("visit", "task", "call", "unit_moved", "visit_voided", "visit_unvoided", "visit_moved", "tag_changed"),
    *OF_A_DAY,
)


class Play:
    """One sequence; `story` are the model's states after each step that recorded something."""

    def __init__(self, shop: Any, seed: int) -> None:
        self.shop, self.chance = shop, random.Random(seed)
        shop.now = START
        self.model = Model(START)
        self.story: list[Model] = []
        self.steps: list[str] = []
        self.number = 0
        self.set_up()
        self.keep()

    # --- the fleet

    def set_up(self) -> None:
        shop, model = self.shop, self.model
        for code in ("lantern", "heron"):
            shop.post("/v1/customers", {"code": code, "name": code})
        for code in ("rhea", "tobin"):
            shop.post("/v1/technicians", {"code": code, "name": code})
        for n, (code, (zone, closed, surroundings, customer)) in enumerate(SITES.items(), 1):
            body = {"code": code, "customer": customer, "name": code, "time_zone": zone, "technician": "rhea",
                    "closed_weekdays": [WEEK[day] for day in sorted(closed)], "surroundings": surroundings}  # fmt: skip
            shop.post("/v1/sites", {name: value for name, value in body.items() if value is not None})
            model.sites[code] = Site(n, zone, closed, surroundings, customer)
        for n, (tag, site) in enumerate(UNITS.items(), 1):
            installed = date(2025, 1 + self.chance.randrange(10), 1 + self.chance.randrange(28))
            registered = model.today(site) - self.chance.randrange(30) * DAY
            care = registered + self.chance.randrange(40) * DAY if self.chance.random() < 0.4 else None
            body = {"tag": tag, "site": site, "installed_on": installed.isoformat(),
                    "registered_on": registered.isoformat(), "care_from": care and care.isoformat(),
                    "components": [{"code": code, "kind": kind} for code, kind in PARTS.items()]}  # fmt: skip
            shop.post("/v1/units", {name: value for name, value in body.items() if value is not None})
            model.units[tag] = Unit(n, installed, registered, [(None, site)], care, tags=[tag])

    def keep(self) -> None:
        self.story.append(self.model.copy())

    # --- help for steps

    def identity(self) -> str:
        return str(UUID(int=self.chance.getrandbits(128), version=4))

    def any_of(self, some: Any) -> Any:
        found = sorted(some)
        return self.chance.choice(found) if found else None

    def named(self, unit: str | None) -> str | None:
        """One of the tags that a unit ever had: it is found by each."""
        return None if unit is None else self.chance.choice(self.model.units[unit].tags)

    def refused(self, answer: Any, *, refused: bool) -> bool:
        """Whether it was refused, which must be as expected."""
        assert answer.status_code == (422 if refused else 201), answer.text
        return refused

    def earlier(self, most: int) -> datetime:
        """An instant within so many minutes, whole seconds."""
        return self.model.now - timedelta(minutes=self.chance.randrange(1, most), seconds=self.chance.randrange(60))

    def change(self, path: str, body: Any, method: str = "PATCH") -> Any:
        return self.shop.ask(method, path, body, If_Match="*")

    def good(self, answer: Any) -> Any:
        assert answer.status_code in (200, 201), answer.text
        return answer.json

    # --- steps

    def call(self) -> None:
        unit = self.any_of([*UNITS, ""]) or None
        at = self.earlier(5000)
        site = None if unit else (self.any_of([*SITES, ""]) or None)
        made = {"id": self.identity(), "unit": unit, "site": site, "urgency": self.any_of(URGENCY),
                "received_at": text(at), "symptom": "warm_pour"}  # fmt: skip
        body = made | {"unit": self.named(unit)}
        self.shop.post("/v1/calls", {name: value for name, value in body.items() if value is not None})
        self.model.calls[made["id"]] = {**made, "at": at, "closed": False}

    def close_call(self) -> None:
        chosen = self.any_of(call["id"] for call in self.model.waiting())
        if chosen is None:
            return
        ends = [{"state": "answered", "how": "phone_advice"}, {"state": "cancelled", "why": "twice"}]
        self.good(self.change(f"/v1/calls/{chosen}", self.chance.choice(ends)))
        self.model.calls[chosen]["closed"] = True

    def work(self) -> dict[str, Any]:
        """Tasks, outcome and replacements of a visit."""
        tasks = []
        for task in self.chance.sample(TASKS, self.chance.randrange(3)):
            result = self.chance.choice(["done", "done", "done", "not_needed", "not_done"])
            grade = self.chance.choice(["clean", "light", "heavy", "blocked", None]) if task in GRADED else None
            tasks.append((task, result, grade if result != "not_done" else None))
        outcome = self.chance.choice(OUTCOMES)
        body: dict[str, Any] = {
            "tasks": [
                {"task": task, "result": result}
                | ({"as_found": grade} if grade else {})
                | ({"reason": "no time"} if result == "not_done" else {})
                for task, result, grade in tasks
            ],
            "replacements": [],
        }
        if outcome:
            body["outcome"] = outcome
        if self.chance.random() < 0.15:
            part = {"component": self.any_of(PARTS), "reason": "failed", "condition": "burnt", "evidence": "seen"}
            body["replacements"] = [part]
        return {"body": body, "tasks": tasks, "outcome": outcome}

    def promised(self, at: datetime, site: str, outcome: str | None) -> date | None:
        if outcome != "waiting_for_parts" or self.chance.random() < 0.5:
            return None
        return self.model.local(at, site) + self.chance.randrange(6) * DAY

    def visit(self) -> None:
        unit, at = self.any_of(UNITS), self.earlier(3000)
        site, work = self.model.site_at(unit, at), self.work()
        fitting = [
            c["id"] for c in self.model.waiting()
            if c["unit"] in (None, unit) and self.model.site_of_call(c) in (None, site) and c["at"] <= at + 2 * DAY
        ]  # fmt: skip
        calls = [c for c in fitting if self.chance.random() < 0.6]
        promised = self.promised(at, site, work["outcome"])
        body = {"id": self.identity(), "unit": self.named(unit), "kind": "service_call", "arrived_at": text(at), "calls": calls,
                "technician": self.any_of(["rhea", "tobin"]), **work["body"]}  # fmt: skip
        if promised:
            body["parts_promised_on"] = promised.isoformat()
        answer = self.shop.ask("POST", "/v1/visits", body)
        if self.refused(answer, refused=self.model.too_late(unit, at)):
            return
        self.remember(body["id"], unit, at, work, calls=calls, promised=promised)

    def remember(self, key: str, unit: str, at: datetime, work: dict[str, Any], **more: Any) -> None:
        self.number += 1
        own = {"n": self.number, "unit": unit, "at": at, "tasks": work["tasks"], "outcome": work["outcome"]}
        beside = {"promised": None, "calls": [], "void": False, "voids": [], "attendance": None}
        self.model.visits[key] = own | beside | more

    def attendance(self) -> None:
        at, site = self.earlier(3000), self.any_of(SITES)
        standing = [tag for tag in UNITS if self.model.site_at(tag, at) == site]
        tags = self.chance.sample(standing, self.chance.randrange(1, 1 + len(standing))) if standing else []
        body: dict[str, Any] = {"id": self.identity(), "site": site, "crew": ["tobin", "rhea"], "arrived_at": text(at)}
        if not tags or self.chance.random() < 0.2:
            self.shop.post("/v1/attendances", body | {"access": "no_access"})
            return
        work = {tag: self.work() for tag in tags}
        ids = {tag: self.identity() for tag in tags}
        body["visits"] = [
            {"id": ids[tag], "unit": self.named(tag), "kind": "maintenance", **work[tag]["body"]} for tag in tags
        ]
        answer = self.shop.ask("POST", "/v1/attendances", body)
        if self.refused(answer, refused=any(self.model.too_late(tag, at) for tag in tags)):
            return
        for tag in tags:
            self.remember(ids[tag], tag, at, work[tag], attendance=body["id"])

    def void(self) -> None:
        chosen = self.any_of(key for key, each in self.model.visits.items() if not each["void"])
        if chosen:
            self.good(self.change(f"/v1/visits/{chosen}/void", {"reason": "x"}, "POST"))
            self.model.visits[chosen]["void"] = True
            self.model.visits[chosen]["voids"].append(("visit_voided", text(self.model.now)))

    def unvoid(self) -> None:
        chosen = self.any_of(key for key, each in self.model.visits.items() if each["void"])
        if chosen:
            answer = self.change(f"/v1/visits/{chosen}/unvoid", {"reason": "x"}, "POST")
            if answer.status_code == 200:
                self.model.visits[chosen]["void"] = False
                self.model.visits[chosen]["voids"].append(("visit_unvoided", text(self.model.now)))
            else:  # it no longer fits its attendance, its calls or its unit
                assert answer.status_code == 422, answer.text

    def correct(self) -> None:
        chosen = self.any_of(key for key, each in self.model.visits.items() if not each["void"])
        if chosen is None:
            return
        visit = self.model.visits[chosen]
        work = self.work()
        changes: dict[str, Any] = {"why": "x", "tasks": work["body"]["tasks"], "outcome": work["outcome"]}
        at = visit["at"]
        if visit["attendance"] is None and not visit["calls"] and self.chance.random() < 0.5:
            at = min(visit["at"] + timedelta(minutes=self.chance.randrange(-2000, 2000)), self.model.now)
            changes["arrived_at"] = text(at)
        changes["parts_promised_on"] = None
        answer = self.change(f"/v1/visits/{chosen}", changes)
        if self.model.too_late(visit["unit"], at):
            assert answer.status_code == 422, answer.text
            return
        self.good(answer)
        visit.update(at=at, tasks=work["tasks"], outcome=work["outcome"], promised=None)

    def correct_attendance(self) -> None:
        chosen = self.any_of({each["attendance"] for each in self.model.visits.values() if each["attendance"]})
        if chosen is None:
            return
        of_it = [each for each in self.model.visits.values() if each["attendance"] == chosen and not each["void"]]
        at = min(
            (of_it[0]["at"] if of_it else self.model.now) - timedelta(minutes=self.chance.randrange(90)), self.model.now
        )
        answer = self.change(f"/v1/attendances/{chosen}", {"arrived_at": text(at), "why": "x"})
        moved = [
            e for e in of_it
            if self.model.site_at(e["unit"], at) != self.model.site_at(e["unit"], e["at"])
            or self.model.too_late(e["unit"], at)
        ]  # fmt: skip
        assert answer.status_code == (422 if moved else 200), answer.text
        if not moved:
            for each in of_it:
                each["at"] = at

    def move_visit(self) -> None:
        chosen = self.any_of(
            key for key, each in self.model.visits.items()
            if not each["void"] and not each["calls"] and each["attendance"] is None
        )  # fmt: skip
        if chosen is None:
            return
        visit, unit = self.model.visits[chosen], self.any_of(UNITS)
        answer = self.change(f"/v1/visits/{chosen}/move", {"unit": self.named(unit), "reason": "wrong one"}, "POST")
        day = self.model.local(visit["at"], self.model.site_at(unit, visit["at"]))
        if unit == visit["unit"] or (visit["promised"] or day) < day or self.model.too_late(unit, visit["at"]):
            assert answer.status_code == 422, answer.text
            return
        self.good(answer)
        self.model.events += [(tag, "visit_moved", text(self.model.now)) for tag in (visit["unit"], unit)]
        visit["unit"] = unit

    def move_unit(self) -> None:
        unit, site = self.any_of(UNITS), self.any_of(SITES)
        day = self.model.today(site) + self.chance.randrange(-20, 8) * DAY
        answer = self.shop.ask(
            "POST", f"/v1/units/{self.named(unit)}/locations", {"site": site, "from": day.isoformat(), "reason": "x"}
        )
        if answer.status_code == 201:
            self.model.units[unit].moves.append((day, site))
        else:  # it stands there then, or has visits of an attendance elsewhere
            assert answer.status_code in (409, 422), answer.text

    def pause(self) -> None:
        of_unit = self.chance.random() < 0.5
        key = self.any_of(UNITS if of_unit else SITES)
        holder = self.model.units[key].pauses if of_unit else self.model.sites[key].closures
        path = f"/v1/units/{self.named(key)}/pauses" if of_unit else f"/v1/sites/{key}/closures"
        site = self.model.here(key) if of_unit else key
        if holder and self.chance.random() < 0.4:
            number = self.any_of(holder)
            self.good(self.change(f"{path}/{number}", {"withdrawn": True}))
            del holder[number]
            return
        first = self.model.today(site) + self.chance.randrange(-20, 20) * DAY
        last = first + self.chance.randrange(30) * DAY if not of_unit or self.chance.random() < 0.8 else None
        body = {"from": first.isoformat(), "until": last and last.isoformat(), "reason": "off"}
        answer = self.shop.ask("POST", path, body)
        overlaps = any(first <= (b or date.max) and a <= (last or date.max) for a, b in holder.values())
        assert answer.status_code == (409 if overlaps else 201), answer.text
        if not overlaps:
            holder[answer.json["number"]] = (first, last)

    def end(self) -> None:
        """A site or a customer ends on a day, past or to come, or goes on after all."""
        of_site = self.chance.random() < 0.6
        key = self.any_of(SITES) if of_site else self.any_of(["lantern", "heron"])
        day = self.model.today(None) + self.chance.randrange(-5, 25) * DAY if self.chance.random() < 0.6 else None
        path = f"/v1/sites/{key}" if of_site else f"/v1/customers/{key}"
        self.good(self.change(path, {"ended_on": day and day.isoformat()}))
        if of_site:
            self.model.sites[key].ended = day
        else:
            self.model.ended[key] = day

    def leave(self) -> None:
        """A technician is on leave for some days, or not after all."""
        who, first = self.any_of(["rhea", "tobin"]), self.model.today(None) + self.chance.randrange(-3, 6) * DAY
        last = first + self.chance.randrange(6) * DAY
        given = self.chance.random() < 0.7
        spans = [{"from": first.isoformat(), "until": last.isoformat()}] if given else []
        self.good(self.change(f"/v1/technicians/{who}", {"leave": spans}))
        self.model.leave.pop(who, None)
        if given:
            self.model.leave[who] = (first, last)

    def setting(self) -> None:
        task, months = self.chance.choice(["pump_check", "condenser_clean", "trunk_check"]), self.chance.randrange(2, 6)
        if self.chance.random() < 0.4:
            self.good(self.change(f"/v1/tasks/{task}", {"interval": f"{months} months"}))
            self.model.settings[task] = ("months", months)
            return
        unit = self.any_of(UNITS)
        own, tag = self.model.units[unit].own, self.named(unit)
        if self.chance.random() < 0.3:
            self.good(self.change(f"/v1/units/{tag}/tasks/{task}", {"interval": None, "applies": None}))
            own.pop(task, None)
        elif self.chance.random() < 0.2:
            self.good(self.change(f"/v1/units/{tag}/tasks/{task}", {"interval": None, "applies": False}))
            own[task] = None
        else:
            changes = {"interval": f"{months * 20} days", "applies": None}
            self.good(self.change(f"/v1/units/{tag}/tasks/{task}", changes))
            own[task] = ("days", months * 20)

    def assign(self) -> None:
        unit = self.any_of([*UNITS, ""]) or None
        site = self.model.here(unit) if unit else self.any_of(SITES)
        task = self.any_of(["", "trunk_check", "follow_up", "pump_check"]) if unit else None
        day = self.model.today(site) + self.chance.randrange(4) * DAY
        plan = {
            "site": site,
            "unit": unit,
            "task": task or None,
            "who": self.any_of(["rhea", "tobin"]),
            "day": day,
            "postponed": None,
        }
        tag = self.named(unit)
        body = {"site": site, "unit": tag, "task": task or None, "technician": plan["who"], "day": day.isoformat()}
        if task == "pump_check":
            plan |= {"who": None, "day": None, "postponed": day}
            body = {
                "site": site,
                "unit": tag,
                "task": task,
                "postponed_to": day.isoformat(),
                "why": "x",
                "note": "an owner's word",
            }
        answer = self.shop.ask("POST", "/v1/assignments", {name: value for name, value in body.items() if value})
        target = (site, unit, task or None)
        held = any(
            (p["site"], p["unit"], p["task"]) == target and (p["day"] or p["postponed"]) >= self.model.today(site)
            for p in self.model.plans.values()
        )
        off = plan["who"] is not None and not self.model.works(plan["who"], day)
        refused = {code for code, why in ((409, held), (422, off)) if why}
        assert answer.status_code in (refused or {201}), answer.text
        if not held and not off:
            self.model.plans[answer.json["id"]] = plan

    def unassign(self) -> None:
        chosen = self.any_of(self.model.plans)
        if chosen:
            answer = self.change(f"/v1/assignments/{chosen}", None, "DELETE")
            assert answer.status_code == 204, answer.text
            del self.model.plans[chosen]

    def retire(self) -> None:
        """A unit is retired on a day, past or to come, or is in service after all."""
        unit = self.any_of(UNITS)
        day = self.model.today(None) + self.chance.randrange(-5, 25) * DAY if self.chance.random() < 0.5 else None
        self.good(self.change(f"/v1/units/{self.named(unit)}", {"retired_on": day and day.isoformat()}))
        self.model.units[unit].retired = day

    def retag(self) -> None:
        """A unit gets another tag, new, one it had before, or one that is another unit's."""
        unit = self.any_of(UNITS)
        own = self.model.units[unit]
        others = [tag for key, each in self.model.units.items() if key != unit for tag in each.tags]
        tag = self.chance.choice([f"{unit}-{len(own.tags)}", f"A{unit}-{len(own.tags)}", own.tags[0], *others[:1]])
        answer = self.change(f"/v1/units/{self.named(unit)}", {"tag": tag})
        if tag in others:
            assert answer.status_code == 409, answer.text
            return
        self.good(answer)
        if tag != own.tags[-1]:
            own.tags.append(tag)
            own.retagged.append(text(self.model.now))

    def replace(self) -> None:
        """A unit was put in the place of another one, which has one successor and is no successor of it; or was not."""
        unit, other = self.any_of(UNITS), self.any_of([*UNITS, ""]) or None
        answer = self.change(f"/v1/units/{self.named(unit)}", {"replaces": self.named(other)})
        before = other
        while before not in (unit, None):
            before = self.model.units[before].replaces
        taken = other is not None and self.model.replaced_by(other) not in (None, unit)
        if before == unit or taken:
            assert answer.status_code == 422, answer.text
            return
        self.good(answer)
        self.model.units[unit].replaces = other

    def wait(self) -> None:
        self.shop.now += timedelta(days=self.chance.randrange(9), minutes=self.chance.randrange(1, 1400))
        self.model.now = self.shop.now

    # --- comparing

    def step(self) -> None:
        often: list[Callable[[], None]] = [self.visit, self.visit, self.wait, self.wait, self.assign]
        visits = [self.visit, self.attendance, self.correct, self.correct_attendance, self.void, self.unvoid]
        others = [self.call, self.close_call, self.move_visit, self.move_unit, self.pause, self.setting]
        rarer = [self.end, self.leave, self.retire, self.retag, self.replace]
        chosen = self.chance.choice([*often, *visits, *others, *rarer, self.wait, self.assign, self.unassign])
        self.steps.append(chosen.__name__)
        chosen()
        self.shop.now += timedelta(seconds=1)
        self.model.now = self.shop.now
        locations.begin(self.shop.database, self.shop.now)  # as the scheduler does
        self.keep()
        self.check()

    def check(self) -> None:
        for tag in self.model.units:
            due = self.shop.get(f"/v1/units/{self.named(tag)}/due")
            found = {item["task"]: item["due_on"] for item in due["items"]}
            assert found == self.model.due(tag), (tag, self.steps)
        horizon, who = self.chance.choice([0, 0, 7]), self.chance.choice([None, None, "rhea", "tobin"])
        query = f"horizon_days={horizon}" + (f"&technician={who}" if who else "")
        today_at: dict[str | None, date] = {site: self.model.today(site) for site in (*SITES, None)}
        assert self.pulled(query) == self.model.listed(today_at, horizon, who), (query, self.steps)
        self.check_past(horizon)
        tag = self.any_of(UNITS)
        happened = sorted((e["event"], e["at"]) for e in self.history(tag))
        assert happened == self.model.history(tag), (tag, self.steps)
        self.check_record(tag)

    def check_record(self, tag: str) -> None:
        """What a unit's record shows, and which units are listed."""
        unit, shown = self.model.units[tag], self.shop.get(f"/v1/units/{self.named(tag)}")
        by = self.model.replaced_by(tag)
        named = ("tag", "site", "retired_on", "replaces", "replaced_by", "replaced_on")
        assert tuple(shown.get(name) for name in named) == (
            unit.tags[-1],
            self.model.here(tag),
            unit.retired and unit.retired.isoformat(),
            self.model.tag(unit.replaces),
            self.model.tag(by),
            by and self.model.units[by].installed.isoformat(),
        ), (tag, self.steps)
        listed = [each["tag"] for each in self.shop.walk("/v1/units?limit=2")]
        assert listed == sorted(self.model.in_service()), self.steps

    def check_past(self, horizon: int) -> None:
        first, last = (self.model.local(each, "quay") for each in (START, self.model.now))
        on = first + self.chance.randrange((last - first).days + 1) * DAY
        if all(on < self.model.today(site) for site in (*SITES, None)):
            found = self.pulled(f"on={on}&horizon_days={horizon}")
            assert found == past_list(self.story, on, horizon, self.model), (on, horizon, self.steps)

    def pulled(self, query: str) -> list[Any]:
        answer = self.shop.get(f"/v1/pm-list?{query}")
        assert answer["counts"]["stops"] == len(answer["stops"])
        return [
            (
                stop["site"] or None,
                stop["class"],
                [(i["unit"] or None, i["class"], i["call"] or i["task"]) for i in stop["items"]],
            )
            for stop in answer["stops"]
        ]

    def history(self, tag: str) -> list[dict[str, Any]]:
        events = self.shop.walk(f"/v1/units/{self.named(tag)}/history?limit=200")
        return [
            {**each, "at": text(datetime.fromisoformat(each["at"]))[: 10 if each["event"] in OF_A_DAY else None]}
            for each in events
            if each["event"] in WATCHED
        ]
