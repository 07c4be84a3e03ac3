"""What can be seen, heard and asked at a unit without an instrument, for triage: so, not so, or not looked at."""

from collections.abc import Callable
from random import Random
from typing import Any

from tests.simulation.units import readable
from tests.simulation.units.plant import Moment, Plant
from tests.simulation.units.scene import Scene

MISTAKEN = 0.02  # share of what is noted that is not so
WARM = 4.5  # degC of beer
Sign = Callable[[Plant, Moment], bool]


def _taps(plant: Plant, moment: Moment) -> list[float]:
    return list(readable.beer(plant, moment).values())


def _all_warm(plant: Plant, moment: Moment) -> bool:
    return min(_taps(plant, moment)) > WARM


def _one_warm(plant: Plant, moment: Moment) -> bool:
    taps = _taps(plant, moment)
    return max(taps) > WARM and sum(tap > WARM for tap in taps) <= max(1, len(taps) // 3)


def _calling(plant: Plant, moment: Moment) -> bool:
    now = plant.now
    lit = now.powered and not now.controller_dark and not now.refrigeration_off
    return lit and (moment.runs or moment.bath + now.sensor_error > now.cut_in)


def _starved(plant: Plant, moment: Moment) -> bool:
    return moment.runs and moment.since > 240.0 and plant.cycle(moment.bath).wet < 0.3 and moment.bath < 5.0


SIGNS: dict[str, tuple[Sign, float]] = {  # whether it is so; the chance that somebody looks
    "all_taps_warm": (_all_warm, 0.7),
    "one_tap_warm": (_one_warm, 0.7),
    "display_dark": (lambda p, m: not p.now.powered or p.now.controller_dark, 0.9),
    "calling_for_cooling": (_calling, 0.4),
    "compressor_running": (lambda p, m: m.runs, 0.6),
    "compressor_clicking": (lambda p, m: p.now.powered and not p.now.compressor_starts, 0.6),
    "fan_turning": (lambda p, m: m.runs and p.now.fan_turns, 0.5),
    "pump_running": (lambda p, m: p.now.powered and p.now.pump_turns, 0.6),
    "glycol_returning": (lambda p, m: p.flow() > 0.1 * p.unit.flow, 0.5),
    "return_surging": (lambda p, m: p.now.air_in_loop, 0.4),
    "breaker_tripped": (lambda p, m: p.now.supply == "breaker", 0.6),
    "condenser_dirty": (lambda p, m: p.now.air_flow < 0.75, 0.6),
    "warm_air_at_intake": (lambda p, m: m.runs and p.now.recirculated > 0.2, 0.4),
    "bath_level_low": (lambda p, m: p.now.level < 0.75, 0.7),
    "strainer_dirty": (lambda p, m: p.now.strainer_blocked, 0.3),
    "air_in_lines": (lambda p, m: p.now.air_in_loop, 0.4),
    "ice_on_coil": (lambda p, m: p.now.evaporator < 0.7, 0.5),
    "frost_on_first_turns_only": (_starved, 0.3),
    "frost_to_compressor": (lambda p, m: m.runs and p.cycle(m.bath).carried_back > 0.05, 0.3),
    "insulation_wet": (lambda p, m: bool(p.now.wet_trunks), 0.5),
    "lines_cleaned_today": (lambda p, m: p.now.lines_cleaned, 0.6),
    "keg_delivered_today": (lambda p, m: bool(p.now.warm_kegs), 0.6),
    "busy_period": (lambda p, m: p.now.pints > 150.0 * len(p.unit.trunks), 0.5),
    "recently_started": (lambda p, m: m.runs and m.since < 3600.0 and m.bath > p.now.cut_in + 2.0, 0.5),
}

ASKED: dict[str, Sign] = {  # looked at only where triage asks for it
    "every_glass_warm": lambda p, m: max(_taps(p, m)) > WARM and not p.now.lines_cleaned,
    "airflow_obstructed": lambda p, m: p.now.air_flow < 0.5 or p.now.recirculated > 0.2,
    "drier_cold": lambda p, m: m.runs and m.since > 240.0 and p.now.metering < 0.6,
    "discharge_line_hot": lambda p, m: m.runs and m.since > 240.0 and p.cycle(m.bath).discharge > 60.0,
    "condenser_barely_warm": lambda p, m: (
        m.runs and m.since > 240.0 and p.cycle(m.bath).condensing < p.now.ambient + 5.0
    ),
    "glycol_leak": lambda p, m: p.now.level < 0.6,
}


def seen(rng: Random, scene: Scene, seconds: float) -> list[dict[str, Any]]:
    """The observations that somebody makes at an instant."""
    plant, moment = scene.at(seconds)
    noted = []
    for code, (sign, chance) in SIGNS.items():
        if rng.random() < chance:
            noted.append({"code": code, "present": sign(plant, moment) != (rng.random() < MISTAKEN)})
    return noted
