"""Steps of the work: calls, visits, attendances, and what is put right in them."""

from datetime import date, datetime, timedelta
from typing import Any

from tests.fleet_model.days import DAY
from tests.fleet_model.fleet import PARTS, SITES, UNITS, Fleet
from tests.fleet_model.model import URGENCY, text

TASKS = (
    *("condenser_clean", "condenser_deep_clean", "glycol_change", "glycol_strength_check", "pump_check", "trunk_check"),
    *("strainer_clean", "controller_check", "follow_up"),
)
GRADED = ("condenser_clean", "condenser_deep_clean", "strainer_clean")
OUTCOMES = ("running", "recovering", "down", "waiting_for_parts", None)


class VisitSteps(Fleet):
    """Each records one thing over HTTP and in the model."""

    def call(self) -> None:
        unit = self.any_of([*UNITS, ""]) or None
        at = self.earlier(5000)
        site = None if unit else (self.any_of([*SITES, ""]) or None)
        made = {"id": self.identity(), "unit": unit, "site": site, "urgency": self.any_of(URGENCY),
                "received_at": text(at), "symptom": "warm_pour"}  # fmt: skip
        body = made | {"unit": self.named(unit)}
        until = at + timedelta(hours=9 * int(made["id"][1], 16)) if made["id"][0] < "5" else None
        if until:
            body["promised"] = {"from": text(at), "until": text(until)}
        self.shop.post("/v1/calls", {name: value for name, value in body.items() if value is not None})
        self.model.calls[made["id"]] = {**made, "at": at, "promised": until, "closed": False}

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
        body = {"id": self.identity(), "unit": self.named(unit), "kind": "service_call", "arrived_at": text(at),
                "calls": calls, "technician": self.any_of(["rhea", "tobin"]), **work["body"]}  # fmt: skip
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
