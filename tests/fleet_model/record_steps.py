"""Steps of the fleet's record and of planning: moves, pauses, ends, tags, settings, assignments, passing time."""

from datetime import date, timedelta

from tests.fleet_model.days import DAY
from tests.fleet_model.fleet import SITES, UNITS, WEEK, Fleet
from tests.fleet_model.model import text


class RecordSteps(Fleet):
    """Each changes one thing over HTTP and in the model."""

    def move_unit(self) -> None:
        unit, site = self.any_of(UNITS), self.any_of(SITES)
        day = self.model.today(site) + self.chance.randrange(-20, 8) * DAY
        answer = self.shop.ask(
            "POST", f"/v1/units/{self.named(unit)}/locations", {"site": site, "from": day.isoformat(), "reason": "x"}
        )
        if answer.status_code == 201:
            assert not self.model.ended_at(site, day), answer.text
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

    def surroundings(self) -> None:
        """The air at a site gets another, or nobody knows it any more."""
        site, air = self.any_of(SITES), self.any_of(["clean", "dusty", "greasy", "outdoor", ""]) or None
        self.good(self.change(f"/v1/sites/{site}", {"surroundings": air}))
        self.model.sites[site].surroundings = air

    def closed_days(self) -> None:
        """A site is closed on other days of the week."""
        site, closed = self.any_of(SITES), set(self.chance.sample(range(7), self.chance.randrange(4)))
        self.good(self.change(f"/v1/sites/{site}", {"closed_weekdays": [WEEK[day] for day in sorted(closed)]}))
        self.model.sites[site].closed = closed

    def retire(self) -> None:
        """A unit is retired on a day, past or to come, or is in service after all."""
        unit = self.any_of(UNITS)
        day = self.model.today(None) + self.chance.randrange(-5, 25) * DAY if self.chance.random() < 0.5 else None
        answer = self.change(f"/v1/units/{self.named(unit)}", {"retired_on": day and day.isoformat()})
        if day is not None and day < (self.model.units[unit].care_from or date.min):
            assert answer.status_code == 422, answer.text
            return
        self.good(answer)
        self.model.units[unit].retired = day

    def put_back(self) -> None:
        """A unit's site is changed in its record: it stands there from today."""
        unit, site = self.any_of(UNITS), self.any_of(SITES)
        today, before = self.model.today(site), self.model.here(unit)
        answer = self.change(f"/v1/units/{self.named(unit)}", {"site": site})
        if answer.status_code == 200:
            assert site == before or not self.model.ended_at(site, today), answer.text
            if site != before:
                self.model.units[unit].moves.append((today, site))
        else:
            assert answer.status_code in (409, 422), answer.text

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
        idle = self.model.idle(site, unit, day)
        off = idle or (plan["who"] is not None and not self.model.works(plan["who"], day))
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

    def wait(self) -> None:
        self.shop.now += timedelta(days=self.chance.randrange(9), minutes=self.chance.randrange(1, 1400))
        self.model.now = self.shop.now
