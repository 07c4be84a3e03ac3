"""The list against a model of it, written from the guide's page for dispatchers and not from the code.

The model holds calls and visits in plain lists and derives from them which units are down, wait for parts or are to be
followed up, which calls are open, and in which order all of it stands. Dates of PM come from the unit's own due items,
which `tests/summary_recount` counts again. Random sequences of calls, visits, voids, assignments and days are played
against both.
"""

import random
from datetime import date, timedelta
from uuid import UUID

import pytest

UNITS = {"GU-1": "quay", "GU-2": "quay", "GU-3": "pier", "GU-4": "pier", "GU-5": "lock"}
SITES = ["quay", "pier", "lock"]  # in the order in which they are registered
URGENCY = ["now", "today", "this_week", "can_wait"]
RANK = ["down", "call", "parts", "follow_up", "root_cause", "pm"]
FIRST = ("condenser_clean", "glycol_strength_check", "bath_level_check")
LAST = ("condenser_deep_clean", "glycol_change", "controller_check")
DONE_BY = {"condenser_clean": "condenser_deep_clean", "glycol_strength_check": "glycol_change",
           "bath_level_check": "glycol_change"}  # fmt: skip
MONTH = 30.4375
USUAL = "rhea"  # who serves every site


class Model:
    """What happened, and the list that follows."""

    def __init__(self):
        self.calls, self.visits, self.plans = {}, [], {}

    def latest(self, unit):
        stated = [v for v in self.visits if v["unit"] == unit and not v["void"] and v["outcome"]]
        return max(stated, key=lambda v: (v["at"], v["n"]), default=None)

    def follow_up(self, unit):
        """(class, day) of what the latest outcome asks for."""
        visit = self.latest(unit)
        if visit is None or visit["outcome"] == "running":
            return None
        if visit["outcome"] == "waiting_for_parts":
            return "parts", visit["promised"] or visit["day"] + timedelta(7)
        return ("down" if visit["outcome"] == "down" else "follow_up"), visit["day"] + timedelta(1)

    def waiting(self):
        answered = {call for visit in self.visits if not visit["void"] for call in visit["calls"]}
        return [call for key, call in self.calls.items() if key not in answered and not call["closed"]]

    def items(self, pm, today, horizon):
        """Every item as (site, unit, key, class, task or call)."""
        found = []
        for unit, site in UNITS.items():
            tasks = {
                task: due for task, due in pm[unit].items() if self.stands(site, unit, task, due[0], today, horizon)
            }
            for task, larger in DONE_BY.items():
                if task in tasks and larger in tasks:
                    worse = min((self.pm_key(each, *tasks[each], today), each) for each in (task, larger))
                    tasks[larger] = (
                        (*tasks[larger], min(worse[0], *tasks[larger][2:]))
                        if tasks[larger][2:]
                        else (*tasks[larger], worse[0])
                    )
                    del tasks[task]
            for task, (due, days, *worse) in tasks.items():
                found.append((site, unit, min([self.pm_key(task, due, days, today), *worse]), "pm", task))
            calls = (
                sorted(((1, URGENCY.index(c["urgency"]), 0.0, c["at"]), c) for c in self.waiting() if c["unit"] == unit)
                if any(c["unit"] == unit for c in self.waiting())
                else []
            )
            follow = self.follow_up(unit)
            if follow and self.stands(site, unit, "follow_up", follow[1], today, horizon):
                key = (RANK.index(follow[0]), 0.0, 0.0, follow[1].isoformat())
                if calls and key < calls[0][0]:
                    calls[0] = (key, calls[0][1] | {"class": follow[0]})
                elif not calls:
                    found.append((site, unit, key, follow[0], "follow_up"))
            found += [(site, unit, key, call.get("class", "call"), call["id"]) for key, call in calls]
        unknown = [c for c in self.waiting() if c["unit"] is None]
        found += [(c["site"], None, (1, URGENCY.index(c["urgency"]), 0.0, c["at"]), "call", c["id"]) for c in unknown]
        return found

    @staticmethod
    def pm_key(task, due, days, today):
        urgency = 1 if task in FIRST else 3 if task in LAST else 2
        late = (today - due).days
        return (5, urgency + (10 if late < 0 else 0), -late / days, due.isoformat())

    def stands(self, site, unit, task, due, today, horizon):
        """Whether an item is on the list: due and not planned for later, or brought forward."""
        last = today + timedelta(horizon)
        day, _, moved = self.plans.get((site, unit, task), (None, None, None))
        forward = day is not None and today <= day <= last and not moved
        return forward or (due <= last and not self.goes(site, unit, task, today, horizon)[1])

    def goes(self, site, unit, item, today, horizon):
        """(who goes there, whether only on a later day): the closest plan counts that is not over."""
        for target in ((site, unit, item), (site, unit, None), (site, None, None)):
            day, who, moved = self.plans.get(target, (None, None, None))
            later = day is not None and day > today + timedelta(horizon)
            if later or (day is not None and day >= today and not moved):
                return who, later
        return USUAL, False

    def listed(self, pm, today, horizon, technician):
        """[(site, class, [(unit, class, item)])], the worst first."""
        stops = {}
        for site, unit, key, work, item in self.items(pm, today, horizon):
            who, later = self.goes(site, unit, item, today, horizon) if site else (None, False)
            if technician not in (None, USUAL if later else who):
                continue
            stops.setdefault(site, []).append((key, unit or "", item, work))
        order = {None: 0} | {site: n for n, site in enumerate(SITES, 1)}
        return [
            (site, found[0][3], [(unit or None, work, item) for _, unit, item, work in found])
            for _, _, site, found in sorted(
                ((sorted(each)[0][0], order[site], site, sorted(each)) for site, each in stops.items()),
                key=lambda stop: stop[:2],
            )
        ]


class Play:
    """One random sequence, played against the program and the model."""

    def __init__(self, shop, seed):
        self.shop, self.chance, self.model = shop, random.Random(seed), Model()
        shop.unit("GU-0", retired_on="2026-06-09")
        shop.post("/v1/technicians", {"code": "tobin", "name": "Tobin"})
        for site in SITES:
            shop.post(
                "/v1/sites", shop.example("site", code=site, closed_weekdays=[], time_zone="Etc/UTC", technician=USUAL)
            )
        for n, (unit, site) in enumerate(UNITS.items()):
            shop.unit(unit, site=site, installed_on=f"2025-0{2 * n + 1}-17", components=[], trunks=[])

    def identity(self):
        return str(UUID(int=self.chance.getrandbits(128), version=4))

    def call(self):
        unit = self.chance.choice([*UNITS, None])
        site = UNITS[unit] if unit else self.chance.choice([*SITES, None])
        at = self.shop.now - timedelta(minutes=self.chance.randrange(1, 5000))
        made = {"id": self.identity(), "unit": unit, "site": site, "urgency": self.chance.choice(URGENCY),
                "received_at": at.isoformat(), "symptom": "warm_pour"}  # fmt: skip
        self.shop.post("/v1/calls", {name: value for name, value in made.items() if value is not None})
        self.model.calls[made["id"]] = {**made, "at": at.strftime("%Y-%m-%dT%H:%M:%S.%fZ"), "closed": False}

    def close(self):
        for call in self.chance.sample(self.model.waiting(), min(1, len(self.model.waiting()))):
            end = self.chance.choice(
                [{"state": "answered", "how": "phone_advice"}, {"state": "cancelled", "why": "called twice"}]
            )
            assert self.shop.ask("PATCH", f"/v1/calls/{call['id']}", end, If_Match="*").status_code == 200
            call["closed"] = True

    def visit(self):
        unit = self.chance.choice(list(UNITS))
        at = self.shop.now - timedelta(minutes=self.chance.randrange(1, 3000))
        fitting = [c for c in self.model.waiting() if c["unit"] in (None, unit) and c["site"] in (None, UNITS[unit])]
        calls = [c["id"] for c in fitting if self.chance.random() < 0.6]
        outcome = self.chance.choice(["running", "recovering", "down", "waiting_for_parts", "waiting_for_parts", None])
        promised = at.date() + timedelta(self.chance.randrange(0, 6)) if self.chance.random() < 0.5 else None
        tasks = self.chance.sample(["condenser_clean", "glycol_change", "pump_check", "trunk_check"], 2)
        body = {"id": self.identity(), "unit": unit, "kind": "service_call", "arrived_at": at.isoformat(),
                "calls": calls, "tasks": [{"task": task, "result": "done"} for task in tasks]}  # fmt: skip
        more = {"outcome": outcome, "parts_promised_on": promised and promised.isoformat()}
        self.shop.post("/v1/visits", body | {name: value for name, value in more.items() if value is not None})
        self.model.visits.append(
            {"id": body["id"], "n": len(self.model.visits), "unit": unit, "at": at, "day": at.date(), "calls": calls,
             "outcome": outcome, "promised": promised, "void": False}
        )  # fmt: skip

    def void(self):
        standing = [v for v in self.model.visits if not v["void"]]
        for visit in self.chance.sample(standing, min(1, len(standing))):
            answer = self.shop.ask("POST", f"/v1/visits/{visit['id']}/void", {"reason": "x"}, If_Match="*")
            assert answer.status_code == 200, answer.text
            visit["void"] = True

    def plan(self):
        unit = self.chance.choice([*UNITS, None])
        site = UNITS[unit] if unit else self.chance.choice(SITES)
        task = self.chance.choice([None, "trunk_check", "follow_up"]) if unit else None
        today = self.shop.now.date()
        day, who = today + timedelta(self.chance.randrange(0, 4)), self.chance.choice(["rhea", "tobin"])
        former = self.model.plans.get((site, unit, task))
        body = {"site": site, "unit": unit, "task": task, "technician": who, "day": day.isoformat()}
        answer = self.shop.ask("POST", "/v1/assignments", body)
        assert answer.status_code == (409 if former and former[0] >= today else 201), answer.text
        if answer.status_code == 201:
            self.model.plans[site, unit, task] = day, who, False

    def postpone(self):
        unit = self.chance.choice(list(UNITS))
        day = self.shop.now.date() + timedelta(self.chance.randrange(0, 6))
        body = {"site": UNITS[unit], "unit": unit, "task": "pump_check", "postponed_to": day.isoformat(), "why": "x"}
        if self.shop.ask("POST", "/v1/assignments", body | {"note": "an owner's word"}).status_code == 201:
            self.model.plans[UNITS[unit], unit, "pump_check"] = day, None, True

    def wait(self):
        self.shop.now += timedelta(days=self.chance.randrange(1, 9), minutes=self.chance.randrange(600))

    def check(self):
        today, horizon = self.shop.now.date(), self.chance.choice([0, 0, 5])
        pm = {unit: self.pm_of(unit) for unit in UNITS}
        technician = self.chance.choice([None, None, "rhea", "tobin"])
        whose = f"&technician={technician}" if technician else ""
        pulled = self.shop.get(f"/v1/pm-list?horizon_days={horizon}{whose}")
        listed = [
            (stop["site"], stop["class"], [(i["unit"], i["class"], i["call"] or i["task"]) for i in stop["items"]])
            for stop in pulled["stops"]
        ]
        assert listed == self.model.listed(pm, today, horizon, technician)
        assert pulled["counts"]["stops"] == len(listed)

    def pm_of(self, unit):
        """{task: (due date, days of its interval)} without the follow-up."""
        found = {}
        for task, item in self.shop.due(unit).items():
            if task != "follow_up":
                count, what = item["interval"].split()
                days = int(count) if what.startswith("day") else round(int(count) * MONTH)
                found[task] = (date.fromisoformat(item["due_on"]), days)
        return found


@pytest.mark.parametrize("seed", range(6))
def test_the_list_is_the_models_after_every_step(shop, seed) -> None:
    play = Play(shop, seed)
    for _ in range(30):
        play.chance.choice(
            [
                play.call,
                play.call,
                play.visit,
                play.visit,
                play.void,
                play.close,
                play.wait,
                play.wait,
                play.plan,
                play.postpone,
            ]
        )()
        play.check()
