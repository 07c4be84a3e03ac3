"""The truth of a visit, as values that predicates on statements read."""

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from tests.simulation.units import readable, text
from tests.simulation.units.faults import OUTSIDE_TRIAGE
from tests.simulation.units.glycol import freezing_point
from tests.simulation.units.plant import Plant
from tests.simulation.units.scene import Scene, state_of
from tests.simulation.units.situation import Situation
from tests.simulation.units.text import fahrenheit
from tests.simulation.units.unit import Unit


@dataclass(frozen=True, slots=True)
class View:
    """The truth at one moment of a visit: US units, shares as fractions."""

    state: str
    faults: tuple[str, ...]
    glycol: str
    refrigerant: str
    supply: str
    dark: bool  # the controller's display
    values: dict[str, float]

    def __getattr__(self, name: str) -> float:
        try:
            return self.values[name]
        except KeyError as unknown:
            raise AttributeError(name) from unknown

    def has(self, *codes: str) -> bool:
        """Whether one of these faults is there."""
        return not set(codes).isdisjoint(self.faults)

    @property
    def running(self) -> bool:
        """Whether the compressor runs."""
        return self.state in ("starting", "pulling_down", "holding")

    @property
    def stopped(self) -> bool:
        """Whether it stands although the bath may need cooling."""
        return self.state in ("off_without_power", "powered_idle", "called_not_running")


@dataclass(frozen=True, slots=True)
class Truth:
    """State while the circuit was read as found, faults, dangers, and the truth at moments as found and as left."""

    state: str
    states: tuple[str, ...]  # from arrival to leaving, every 5 minutes
    faults: tuple[str, ...]
    severities: tuple[float, ...]
    dangers: tuple[str, ...]
    evident: tuple[str, ...]  # dangers of which a reading or observation was recorded
    mended: bool
    as_found: tuple[View, ...]
    as_left: tuple[View, ...]

    @property
    def found(self) -> View:
        """The truth while the circuit was read as found."""
        return self.as_found[0]

    def views(self, moment: str | None) -> tuple[View, ...]:
        """The truth at the moments as found, as left, or at all of them."""
        every = {"as_found": self.as_found, "as_left": self.as_left}
        return every.get(moment or "", self.as_found + self.as_left)

    @property
    def healthy(self) -> bool:
        """Nothing was planted."""
        return not self.faults

    @property
    def outside_triage(self) -> bool:
        """Whether there is a danger that says nothing about the beer."""
        return not set(OUTSIDE_TRIAGE).isdisjoint(self.faults)


def truth_of(scene: Scene, body: dict[str, Any], found: Sequence[float], left: Sequence[float]) -> Truth:
    """What is true of a scene at minutes as found, the first of them while its circuit is read, and as left."""
    dangers = tuple(fault.danger for fault in scene.faults if fault.danger)
    return Truth(
        state=scene.state(60.0 * found[0]),
        states=tuple(dict.fromkeys(scene.state(60.0 * minute) for minute in range(0, 95, 5))),
        faults=tuple(fault.code for fault in scene.faults),
        severities=scene.severities,
        dangers=dangers,
        evident=tuple(danger for danger in dangers if EVIDENCE[danger](body, scene.unit)),
        mended=scene.mended is not None,
        as_found=tuple(_view(scene, 60.0 * minute) for minute in found),
        as_left=tuple(_view(scene, 60.0 * minute) for minute in left),
    )


def _view(scene: Scene, seconds: float) -> View:
    plant, moment = scene.at(seconds)
    mended = scene.mended is not None and seconds >= scene.mended
    return View(
        state=state_of(plant, moment),
        faults=() if mended else tuple(fault.code for fault in scene.faults),
        glycol=plant.now.glycol,
        refrigerant=scene.unit.design.refrigerant,
        supply=plant.now.supply,
        dark=plant.now.controller_dark or not plant.now.powered,
        values=_values(scene, seconds),
    )


def sound(now: Situation) -> Situation:
    """The same day and load at the same unit without any fault."""
    twin = deepcopy(now)
    for name in ("metering", "charge", "evaporator", "flow", "pump_current"):
        setattr(twin, name, 1.0)
    for name in ("overload", "fouling", "recirculated", "leak", "foreign_gas", "sensor_error"):
        setattr(twin, name, 0.0)
    for name in ("pump_turns", "pump_coupled", "compressor_starts", "fan_turns"):
        setattr(twin, name, True)
    twin.air_in_loop = twin.strainer_blocked = False
    twin.supply, twin.controller_dark, twin.refrigeration_off = "on", False, False
    twin.air_flow, twin.level = max(now.air_flow, 0.95), max(now.level, 0.9)
    twin.blocked_trunks, twin.wet_trunks, twin.warm_kegs, twin.tap_gains = {}, {}, {}, {}
    twin.lines_cleaned = False
    return twin


def _values(scene: Scene, seconds: float) -> dict[str, float]:
    plant, moment = scene.at(seconds)
    now, unit = plant.now, scene.unit
    twin = Plant(unit, sound(now))
    cycle, good = plant.cycle(moment.bath), twin.cycle(moment.bath)
    amps = readable.currents(plant, moment, trying=not now.compressor_starts)
    taps = readable.beer(plant, moment)
    baths = [scene.at(60.0 * minute)[1].bath for minute in range(0, 95, 5)]
    held = plant.cycle(round(now.cut_out, 2))
    return {
        "ambient": fahrenheit(now.ambient),
        "elevation": unit.elevation,
        "bath": fahrenheit(moment.bath),
        "bath_coldest": fahrenheit(min(baths)),
        "bath_warmest": fahrenheit(max(baths)),
        "bath_found": fahrenheit(baths[0]),
        "bath_left": fahrenheit(baths[-1]),
        "set_point": fahrenheit(unit.set_point),
        "cut_out": fahrenheit(now.cut_out),
        "cut_in": fahrenheit(now.cut_in),
        "bath_rate": moment.rate * 1.8 * 60.0,
        "cooler": fahrenheit(now.cooler),
        "keg_warmest": fahrenheit(max([now.keg, *now.warm_kegs.values()])),
        "tap_warmest": fahrenheit(max(taps.values())),
        "tap_coldest": fahrenheit(min(taps.values())),
        "strength": now.strength,
        "freezing_point": fahrenheit(freezing_point(now.strength, now.glycol)),
        "level": now.level,
        "evaporating": fahrenheit(cycle.evaporating),
        "evaporating_when_holding": fahrenheit(held.evaporating),
        "superheat": cycle.superheat * 1.8,
        "sound_superheat": good.superheat * 1.8,
        "subcooling": cycle.subcooling * 1.8,
        "sound_subcooling": good.subcooling * 1.8,
        "carried_back": cycle.carried_back,
        "split": (cycle.condensing - cycle.air_in) * 1.8,
        "sound_split": (good.condensing - good.air_in) * 1.8,
        "air_rise": (cycle.air_out - cycle.air_in) * 1.8,
        "sound_air_rise": (good.air_out - good.air_in) * 1.8,
        "air_flow": now.air_flow if now.fan_turns else 0.0,
        "capacity": cycle.cooling * 3412.14,
        "capacity_share": cycle.cooling / good.cooling,
        "load": plant.load(moment.bath) * 3412.14,
        "held_capacity": held.cooling * 3412.14,
        "held_load": plant.load(now.cut_out) * 3412.14,
        "compressor_share": amps["compressor-1"] / unit.compressor_rating,
        "fan_share": amps["fan-1"] / unit.fan_rating,
        "pump_share": amps["pump-1"] / unit.pump_rating,
        "switch_share": sum(amps.values()) / text.switch_rating(unit),
        "voltage_share": now.volts / unit.volts,
        "terminal_rise": now.terminal_rise * 1.8,
        "flow_share": plant.flow() / max(twin.flow(), 1e-9),
        "flow": plant.flow() / 3.7854 / 60.0,
    }


def _values_of(body: dict[str, Any], quantity: str, component: str | None = None) -> list[float]:
    """The numbers of a quantity in a body."""
    return [
        float(each["value"].split()[0])
        for each in body["readings"]
        if each["quantity"] == quantity and component in (None, each.get("component"))
    ]


def _saw(body: dict[str, Any], code: str) -> bool:
    return {"code": code} in body["observations"]


def _live(body: dict[str, Any], unit: Unit) -> bool:
    return _saw(body, "display_dark") and max(_values_of(body, "voltage_at"), default=0.0) > 50.0


def _hot(body: dict[str, Any], unit: Unit) -> bool:
    return bool(_values_of(body, "terminal_temperature")) or _saw(body, "controls_scorched")


def _over(body: dict[str, Any], unit: Unit) -> bool:
    known = any("rated_current" in part for part in unit.records["components"] if part["code"] == "compressor-1")
    return known and max(_values_of(body, "current", "compressor-1"), default=0.0) > 1.15 * unit.compressor_rating


def _iced(body: dict[str, Any], unit: Unit) -> bool:
    return bool(_values_of(body, "glycol_strength")) or _saw(body, "ice_on_coil")


EVIDENCE = {
    "voltage_at_dead_controller": _live,
    "overheated_terminal": _hot,
    "overload": _over,
    "ethylene": lambda body, unit: True,
    "ice": _iced,
}
