"""The visit that a technician posts: readings as found and as left, observations, tasks, and beside it the truth."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random
from typing import Any

from tests.simulation.units import readable
from tests.simulation.units.glycol import brix
from tests.simulation.units.instruments import Instruments
from tests.simulation.units.plant import Moment, Plant
from tests.simulation.units.scene import HEALTHY_STATES, Scene, faulty_scene, healthy_scene
from tests.simulation.units.text import fahrenheit, of
from tests.simulation.units.truth import Truth, truth_of
from tests.simulation.units.unit import Unit, draw_unit

ARRIVED = datetime.fromisoformat("2026-06-09T09:00:00-06:00")
GAUGES = 16.0  # minute of the circuit's readings as found
LEFT = 72.0
FOUND_AT, LEFT_AT = (GAUGES, 4.0, 29.0), (LEFT, 86.0)  # minutes whose truth is kept
Body = dict[str, Any]
# group, minute as found, minute as left, chance that it is read as found, and as left
GROUPS = (
    ("bath", 3.0, 88.0, 0.97, 0.6),
    ("beer", 6.0, 84.0, 0.5, 0.25),
    ("loop", 9.0, 80.0, 0.5, 0.25),
    ("air", 12.0, 74.0, 0.7, 0.3),
    ("circuit", GAUGES, LEFT, 0.6, 0.3),
    ("amps", GAUGES + 2.0, LEFT + 2.0, 0.75, 0.4),
    ("volts", GAUGES + 3.0, LEFT + 3.0, 0.6, 0.2),
    ("glycol", 22.0, 78.0, 0.6, 0.1),
    ("terminals", 25.0, 76.0, 0.4, 0.1),
    ("bath", 30.0, 90.0, 0.3, 0.0),
)


@dataclass(frozen=True, slots=True)
class Visit:
    """One simulated visit."""

    unit: Unit
    scene: Scene
    body: Body
    truth: Truth


def draw_visit(
    rng: Random,
    number: int,
    *,
    healthy: bool,
    codes: tuple[str, ...] = (),
    unit: Unit | None = None,
    complete: bool = False,
) -> Visit:
    """A visit, with a unit of its own unless one is given; `complete`: every group of readings is taken as found."""
    unit = unit or draw_unit(rng, f"GU-{number:05d}")
    if healthy:
        scene = healthy_scene(rng, unit, HEALTHY_STATES[number % len(HEALTHY_STATES)])
    else:
        scene = faulty_scene(rng, unit, codes)
    body = _body(rng, scene, complete)
    return Visit(unit, scene, body, truth_of(scene, body, FOUND_AT, LEFT_AT))


def _body(rng: Random, scene: Scene, complete: bool) -> Body:
    timed, thorough = rng.random() < 0.8, rng.random() < 0.3 or complete
    bag = Instruments(rng, scene.found.now)
    readings: list[Body] = []
    for group, found, left, chance_found, chance_left in GROUPS:
        for minute, when, chance in ((found, "as_found", chance_found), (left, "as_left", chance_left)):
            if rng.random() < (1.0 if thorough and when == "as_found" else chance):
                read_at = minute + rng.uniform(-1.0, 1.0)
                plant, moment = scene.at(read_at * 60.0)
                at = {"at": _instant(read_at)} if timed else {}
                readings += ({**part, "when": when, **at} for part in READ[group](rng, bag, plant, moment))
    body = {
        "unit": scene.unit.tag,
        "kind": "service_call" if scene.complaint else "maintenance",
        "arrived_at": _instant(0.0),
        "left_at": _instant(94.0),
        "readings": readings,
        "observations": [{"code": code} for code in _seen(rng, scene)],
        "tasks": _tasks(rng, scene),
    }
    if scene.complaint:
        body["complaint"] = {"symptom": scene.complaint}
    return body


def _instant(minute: float) -> str:
    return (ARRIVED + timedelta(seconds=round(minute * 60.0))).isoformat()


def _seen(rng: Random, scene: Scene) -> list[str]:
    seen = [code for fault in scene.faults for code, chance in fault.observed if rng.random() < chance]
    if not scene.found.now.powered and not scene.faults and rng.random() < 0.5:
        seen.append("display_dark")
    return list(dict.fromkeys(seen))


def _tasks(rng: Random, scene: Scene) -> list[Body]:
    if rng.random() < 0.6:
        return []
    air = scene.found.now.air_flow
    found = "clean" if air > 0.9 else "light" if air > 0.75 else "heavy" if air > 0.45 else "blocked"
    return [{"task": "condenser_clean", "result": "done", "as_found": found}]


def _bath(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    yield {"quantity": "bath_temperature", "value": bag.liquid(moment.bath, plant.now.bath_probe_error)}


def _beer(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    yield {"quantity": "cooler_temperature", "value": bag.in_air(plant.now.cooler)}
    taps = list(readable.beer(plant, moment).items())
    for tap, celsius in taps if rng.random() < 0.6 else rng.sample(taps, 1):
        yield {"quantity": "beer_temperature_at_tap", "tap": tap, "value": bag.liquid(celsius)}


def _loop(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    for quantity, value in readable.loop(plant, moment).items():
        if quantity != "glycol_flow":
            yield {"quantity": quantity, "value": bag.liquid(value)}
        elif rng.random() < 0.25:
            yield {"quantity": quantity, "value": bag.flow(value)}


def _air(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    yield {"quantity": "ambient_temperature", "value": bag.in_air(plant.now.ambient)}
    air = readable.pressures(plant, moment)
    for quantity in ("condenser_air_in_temperature", "condenser_air_out_temperature"):
        if rng.random() < 0.85:
            yield {"quantity": quantity, "value": bag.in_air(air[quantity])}


def _circuit(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    read = readable.pressures(plant, moment)
    low_side_only = rng.random() < 0.25
    for quantity in ("suction_pressure", "discharge_pressure"):
        if not (low_side_only and quantity == "discharge_pressure"):
            yield {"quantity": quantity, "value": bag.pressure(quantity, read[quantity])}
    yield {"quantity": "suction_line_temperature", "value": bag.on_pipe(read["suction_line_temperature"])}
    if not low_side_only:
        yield {"quantity": "liquid_line_temperature", "value": bag.on_pipe(read["liquid_line_temperature"])}


def _amps(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    trying = not plant.now.compressor_starts and rng.random() < 0.35
    for component, amperes in readable.currents(plant, moment, trying).items():
        yield {"quantity": "current", "component": component, "value": bag.current(amperes)}


def _volts(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    now = plant.now
    before = 0.0 if now.supply in ("breaker", "cord") else now.volts
    behind = now.volts if now.powered else 0.0
    yield {"quantity": "supply_voltage", "value": bag.voltage(before)}
    if rng.random() < (0.15 if now.powered and not now.controller_dark else 0.8):
        for quantity, component, volts in (
            ("voltage_before", "switch-1", before),
            ("voltage_behind", "switch-1", behind),
            ("voltage_across", "switch-1", before - behind if before > behind else 0.1),
            ("voltage_at", "controller-1", behind),
        ):
            if rng.random() < 0.75:
                yield {"quantity": quantity, "component": component, "value": bag.voltage(volts)}


def _glycol(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    yield {
        "quantity": "glycol_strength",
        "value": bag.strength(brix(plant.now.strength)),
        "sample_temperature": "68 degF",
    }
    yield {"quantity": "bath_level", "value": bag.level(plant.now.level)}


def _terminals(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    if plant.now.powered:
        yield {
            "quantity": "terminal_temperature",
            "component": "switch-1",
            "value": bag.hot_spot(plant.now.ambient + plant.now.terminal_rise),
        }


def _display(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    for quantity, value in readable.display(plant, moment).items():
        yield {"quantity": quantity, "value": of(fahrenheit(value), "degF", 0)}


def _keg(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    """That of the warmest tap: what is asked about."""
    beer = readable.beer(plant, moment)
    warmest = max(beer, key=lambda tap: beer[tap])
    yield {"quantity": "keg_temperature", "value": bag.liquid(readable.kegs(plant)[warmest])}


def _on_lines(rng: Random, bag: Instruments, plant: Plant, moment: Moment) -> Iterator[Body]:
    for quantity, value in readable.on_lines(plant, moment).items():
        yield {"quantity": quantity, "value": bag.on_pipe(value)}


READ: dict[str, Callable[[Random, Instruments, Plant, Moment], Iterator[Body]]] = {
    "bath": _bath,
    "beer": _beer,
    "loop": _loop,
    "air": _air,
    "circuit": _circuit,
    "amps": _amps,
    "volts": _volts,
    "glycol": _glycol,
    "terminals": _terminals,
    # asked for by triage alone; no visit reads them
    "display": _display,
    "keg": _keg,
    "lines": _on_lines,
}
