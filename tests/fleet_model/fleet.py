"""The fleet that is played, and what every step needs."""

import random
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

from tests.fleet_model.days import DAY
from tests.fleet_model.model import Model, Site, Unit

START = datetime(2026, 3, 2, 21, 0, tzinfo=UTC)
WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
SITES = {
    "quay": ("America/Denver", {0}, "greasy", "lantern"),
    "pier": ("Europe/Berlin", set(), None, "heron"),
    "lock": ("Pacific/Auckland", {5, 6}, "dusty", "lantern"),
}
UNITS = {"GU-1": "quay", "GU-2": "quay", "GU-3": "pier", "GU-4": "pier", "GU-5": "lock"}
OFFICES = (None, "America/Denver", "Pacific/Auckland")  # the company's time zone, by the seed
PARTS = {"switch-1": "power_switch", "pump-1": "pump", "fan-1": "condenser_fan"}


class Fleet:
    """A database and its model; `story` are the model's states after each step that recorded something."""

    def __init__(self, shop: Any, seed: int) -> None:
        self.shop, self.chance = shop, random.Random(seed)
        shop.now = START
        self.model = Model(START)
        self.story: list[Model] = []
        self.office = OFFICES[seed % len(OFFICES)]
        self.steps: list[str] = []
        self.number = 0
        self.set_up()
        self.keep()

    def set_up(self) -> None:
        shop, model = self.shop, self.model
        if self.office is not None:
            shop.patch("/v1/company", {"time_zone": self.office}, 0)
            model.office = self.office
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
