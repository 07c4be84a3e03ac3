"""Readings at one visit: what is measured at which occasion, and when within the visit."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from fleet_condition import Condition
from fleet_models import part_codes, refrigerant
from fleet_pen import Pen, gauge_pressure, quantity

Record = dict[str, Any]


@dataclass
class Notebook:
    """The readings of one visit, in the technician's own units. `bath` and the like are degF."""

    pen: Pen
    condition: Condition
    arrived: datetime
    left: datetime
    readings: list[Record] = field(default_factory=list)

    def note(self, quantity_word: str, value: str, when: str, **where: str) -> None:
        """Write one reading down; as found soon after arrival, as left shortly before departure."""
        count = sum(reading["when"] == when for reading in self.readings)
        half = (self.left - self.arrived) // timedelta(minutes=2)
        early, late = min(3 + 2 * count, half), min(max(12 - count, 1), half)
        at = self.arrived + timedelta(minutes=early) if when == "as_found" else self.left - timedelta(minutes=late)
        reading = {"quantity": quantity_word, **where, "value": value}
        if quantity_word != "current":
            reading["at"] = at.isoformat()
        self.readings.append({**reading, "when": when})

    def degrees(self, quantity_word: str, value: float, when: str = "as_found", **where: str) -> None:
        """Note a temperature."""
        self.note(quantity_word, self.pen.degrees(value), when, **where)

    def amps(self, code: str, when: str = "as_found", *, condensing: float = 105.0) -> None:
        """Note the current of a component."""
        self.note("current", quantity(self.condition.amps(code, condensing=condensing), "A"), when, component=code)

    def bath(self, value: float, when: str = "as_found") -> None:
        """Note the bath."""
        self.degrees("bath_temperature", value, when)

    def beer(self, value: float, when: str = "as_found", tap: str = "1") -> None:
        """Note the beer in the glass."""
        self.degrees("beer_temperature_at_tap", value, when, tap=tap)

    def air(self, when: str = "as_found") -> float:
        """Note the air on its way through the condenser; returns the condensing temperature that goes with it."""
        condition = self.condition
        around = condition.air()
        into = around + condition.rng.uniform(0.5, 4)
        if when == "as_found":
            self.degrees("ambient_temperature", around)
        self.degrees("condenser_air_in_temperature", into, when)
        self.degrees(
            "condenser_air_out_temperature", into + condition.rng.uniform(12, 16) + 0.5 * condition.growth, when
        )
        # a head-pressure control keeps winter from pulling it lower
        return max(into + condition.split(), 70.0)

    def head(self, condensing: float, when: str = "as_found") -> None:
        """Note what can be read of the warm side: the port if there is one, else a clamp on the liquid line."""
        unit = self.condition.unit
        if unit.make.refrigeration["high_side_port"]:
            self.note("discharge_pressure", self.pen.gauge(gauge_pressure(refrigerant(unit.model), condensing)), when)
        else:
            self.degrees("liquid_line_temperature", condensing - self.condition.rng.uniform(8, 12), when)

    def cold_side(self, *, starved: bool = False) -> None:
        """Note the evaporator: suction at the port, the line, and how far frost reaches behind a capillary."""
        unit, rng = self.condition.unit, self.condition.rng
        evaporating = rng.uniform(1, 5) if starved else rng.uniform(12, 18)
        if unit.make.refrigeration["low_side_port"]:
            pressure = gauge_pressure(refrigerant(unit.model), evaporating)
            self.note("suction_pressure", self.pen.gauge(pressure), "as_found")
        superheat = rng.uniform(24, 33) if starved else rng.uniform(9, 15)
        self.degrees("suction_line_temperature", evaporating + superheat, "as_found")
        if unit.make.refrigeration["metering"] == "capillary":
            frost = rng.uniform(1, 4) if starved else rng.uniform(9, 20)
            self.note("frost_distance_after_capillary", quantity(frost, "in"), "as_found")

    def glycol(self, when: str = "as_found") -> None:
        """Note the strength, with the sample's temperature beside Brix."""
        kind = self.condition.unit.make.bath["glycol"]
        value = self.pen.glycol(self.condition.strength + self.condition.rng.gauss(0, 0.2), kind)
        sample = {"sample_temperature": self.pen.degrees(self.condition.rng.uniform(62, 74))} if "Brix" in value else {}
        self.note("glycol_strength", value, when, **sample)

    def level(self, when: str = "as_found") -> None:
        """Note how full the bath is."""
        self.note("bath_level", quantity(self.condition.level, "%", 0), when)

    def loop(self, bath: float) -> None:
        """Note the glycol on its way out and back, and the cooler."""
        rng = self.condition.rng
        self.degrees("glycol_supply_temperature", bath + rng.uniform(0.3, 1.0))
        self.degrees("glycol_return_temperature", bath + rng.uniform(3.0, 5.2))
        self.degrees("cooler_temperature", rng.uniform(35.2, 37.9))

    def pump(self, when: str = "as_found") -> None:
        """Note the current of whatever turns the pump."""
        unit = self.condition.unit
        self.amps((part_codes(unit.model, "pump_motor") or part_codes(unit.model, "pump"))[0], when)

    def contact(self, code: str, when: str = "as_found", *, scorched: bool = False, live: bool = True) -> None:
        """Note how warm a switch's terminals are and, when live, what it loses; a scorched one is far off."""
        rng, growth = self.condition.rng, self.condition.growth
        above = rng.uniform(70, 105) if scorched else rng.uniform(9, 16) + 0.5 * growth
        self.degrees("terminal_temperature", self.condition.air() + above, when, component=code)
        if not live:
            return
        drop = rng.uniform(0.35, 0.75) if scorched else rng.uniform(0.02, 0.07)
        self.note("contact_voltage_drop", quantity(drop, "V", 2), when, component=code)

    def supply(self) -> None:
        """Note the voltage at the unit."""
        rated = float(self.condition.unit.make.supply["voltage"].split()[0])
        self.note("supply_voltage", quantity(rated * self.condition.rng.uniform(0.985, 1.04), "V"), "as_found")
