"""Random steps, played over HTTP and in the model, and compared after each."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

from service.usecases.record import locations
from tests.fleet_model.days import DAY
from tests.fleet_model.fleet import SITES, START, UNITS
from tests.fleet_model.model import past_list, text
from tests.fleet_model.record_steps import RecordSteps
from tests.fleet_model.visit_steps import VisitSteps

OF_A_DAY = ("unit_retired", "unit_replaced")  # about noon of the day
WATCHED = (
    *("visit", "task", "call", "unit_moved", "visit_voided", "visit_unvoided", "visit_moved", "tag_changed"),
    *OF_A_DAY,
)


class Play(VisitSteps, RecordSteps):
    """One sequence."""

    def step(self) -> None:
        often: list[Callable[[], None]] = [self.visit, self.visit, self.wait, self.wait, self.assign]
        visits = [self.visit, self.attendance, self.correct, self.correct_attendance, self.void, self.unvoid]
        others = [self.call, self.close_call, self.move_visit, self.move_unit, self.pause, self.setting]
        rarer = [
            self.end,
            self.leave,
            self.retire,
            self.retag,
            self.replace,
            self.surroundings,
            self.closed_days,
            self.put_back,
        ]
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
        self.check_assigned(query, horizon)
        self.check_past(horizon, who)
        self.check_ahead(horizon, who)
        tag = self.any_of(UNITS)
        happened = sorted((e["event"], e["at"]) for e in self.history(tag))
        assert happened == self.model.history(tag), (tag, self.steps)
        self.check_record(tag)

    def check_assigned(self, query: str, horizon: int) -> None:
        """Who does each item, on which day it is assigned, and when a call is due."""
        units = {self.model.tag(key): key for key in UNITS}
        for stop in self.shop.get(f"/v1/pm-list?{query}")["stops"]:
            site, today = stop["site"], date.fromisoformat(stop["today"])
            for each in stop["items"]:
                unit, item = units.get(each["unit"]), each["call"] or each["task"]
                who = self.model.goes(site, unit, item, today, horizon)[0]
                days, due = (today, today + horizon * DAY), date.fromisoformat(each["due_on"])
                if each["call"]:
                    call = self.model.calls[item]
                    wanted = self.model.due_of_call(call, with_follow_up="follow_up" in each["includes"])
                    assert due == wanted, (each, self.steps)
                    due = due if call["promised"] else date.min  # from the day it was received on any day will do
                on = self.model.day_assigned((site, unit, item), due, days)
                found = each["technician"], each["assigned_day"]
                assert found == (who, on and on.isoformat()), (each, self.steps)

    def check_past(self, horizon: int, who: str | None) -> None:
        first, last = (self.model.local(each, "quay") for each in (START, self.model.now))
        on = first + self.chance.randrange((last - first).days + 1) * DAY
        if all(on < self.model.today(site) for site in (*SITES, None)):
            found = self.pulled(f"on={on}&horizon_days={horizon}" + (f"&technician={who}" if who else ""))
            assert found == past_list(self.story, on, horizon, self.model, who), (on, horizon, who, self.steps)

    def check_ahead(self, horizon: int, who: str | None) -> None:
        """A day to come, from what is planned."""
        on = max(self.model.today(site) for site in SITES) + self.chance.randrange(1, 25) * DAY
        self.model.ahead = on
        listed = self.model.listed(dict.fromkeys((*SITES, None), on), horizon, who)
        self.model.ahead = None
        query = f"on={on}&horizon_days={horizon}" + (f"&technician={who}" if who else "")
        assert self.pulled(query) == listed, (query, self.steps)

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
        listed = [each["tag"] for each in self.shop.walk("/v1/units")]
        assert listed == sorted(self.model.in_service()), self.steps
