"""The record of a story: one unit or several, kept every quarter, and what failed when."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from tests.simulation.records import part, reading, task, visit
from tests.simulation.truth import Line

Read = Mapping[tuple[str, str | None], str | None]
USUAL: Read = {
    ("current", "switch-1"): "12 A",
    ("current", "switch-2"): "5 A",
    ("terminal_temperature", "switch-1"): "43 degC",
    ("terminal_temperature", "switch-2"): "41 degC",
    ("supply_voltage", None): "117 V",
    ("glycol_strength", None): "35 mass%",
    ("bath_level", None): "92 %",
    ("ambient_temperature", None): "24 degC",
}
PARTS: tuple[Line, ...] = (
    {"code": "switch-1", "kind": "power_switch", "feeds": ["compressor-1", "fan-1"], "rated_current": "20 A"},
    {"code": "switch-2", "kind": "power_switch", "feeds": ["pump-1"], "rated_current": "20 A"},
    {"code": "pump-1", "kind": "pump"},
    {"code": "controller-1", "kind": "temperature_controller"},
    {"code": "fan-1", "kind": "condenser_fan"},
    {"code": "compressor-1", "kind": "compressor", "rated_current": "7 A"},
)
CUSTOMER = {"record": "customer", "code": "brewpubs", "name": "Brewpubs of the Valley"}


def site(code: str = "otter-yard", **more: Any) -> Line:
    """A site of the one customer."""
    return {"record": "site", "code": code, "customer": "brewpubs", "name": code, "time_zone": "UTC"} | more


class Scene:
    """One unit and its visits; `read` is what every visit reads instead of the usual, None for not read.

    Care begins on the day of installation where no other day is given.
    """

    def __init__(
        self,
        tag: str = "K-1",
        *,
        installed: str = "2024-01-08",
        care: str | None = None,
        read: Read | None = None,
        plates: Mapping[str, Line] | None = None,
        at: str = "otter-yard",
    ) -> None:
        self.tag = tag
        self.read: Read = {**USUAL, **(read or {})}
        parts = [each | (plates or {}).get(each["code"], {}) | {"installed_on": installed} for each in PARTS]
        self.unit: Line = {
            "record": "unit", "tag": tag, "site": at, "maker": "Kestrel", "model": "KX 40", "installed_on": installed,
            "care_from": care or installed, "registered_on": care or installed, "components": parts,
            "supply": {"voltage": "115 V"}, "bath": {"target_strength": "35 mass%", "set_point": "28 degF"},
        }  # fmt: skip
        self.visits: list[Line] = []

    def visit(
        self,
        day: str,
        kind: str = "maintenance",
        *,
        read: Read | None = None,
        tasks: Sequence[Line] = (),
        parts: Sequence[Line] = (),
        **more: Any,
    ) -> "Scene":
        """A visit with the readings of the scene, some of them others."""
        values = {**self.read, **(read or {})}
        readings = [reading(quantity, value, code) for (quantity, code), value in values.items() if value]
        number = len(self.visits)
        on = date.fromisoformat(day)
        shown = {"readings": readings, "tasks": list(tasks), "replacements": list(parts)}
        self.visits.append(visit(self.tag, on, kind, number, **shown, **more))
        return self

    def kept(
        self,
        first: str,
        last: str,
        *,
        found: str = "light",
        cleaned: bool = True,
        strainer: str = "clean",
        step: int = 91,
    ) -> "Scene":
        """Visits every quarter: the condenser as found and cleaned or not, the strainer, the electrics."""
        day, end = date.fromisoformat(first), date.fromisoformat(last)
        condenser = task("condenser_clean", "done", found)
        if not cleaned:
            condenser = task("condenser_clean", "not_done", found, "no access, stacked with crates")
        while day <= end:
            self.visit(day.isoformat(), tasks=[condenser, task("strainer_clean", "done", strainer)])
            day += timedelta(days=step)
        return self

    def failed(
        self, days: Iterable[str] | str, component: str, condition: str = "burnt", reason: str = "failed", **more: Any
    ) -> "Scene":
        """Service calls that replace a component; `item`, `tasks`, `read` and `technician` go with each."""
        item = {"item": more.pop("item")} if "item" in more else {}
        for day in [days] if isinstance(days, str) else days:
            self.visit(day, "service_call", parts=[part(component, condition, reason, **item)], **more)
        return self

    @property
    def lines(self) -> list[Line]:
        """The unit and its visits by arrival."""
        return [self.unit, *sorted(self.visits, key=lambda line: str(line["arrived_at"]))]


def shop(*scenes: Scene, sites: Sequence[Line] = (), technicians: Sequence[str] = ()) -> list[Line]:
    """The records of a company: its units come before all visits, which come by arrival."""
    people = [{"record": "technician", "code": code, "name": code.title()} for code in technicians]
    units = [scene.unit for scene in scenes]
    visits = sorted((line for scene in scenes for line in scene.visits), key=lambda line: str(line["arrived_at"]))
    return [CUSTOMER, *people, *(sites or [site()]), *units, *visits]
