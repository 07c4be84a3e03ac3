"""How many times faster than a well-kept part at the same place each part wears, day by day and cause by cause."""

import numpy as np

from tests.simulation.stress.places import DAYS, HOT_ROOM, NUMBERS, SUMMER, Conditions

LOAD = 12.8  # A at rated voltage, clean and 24 degC: compressor 7, pump 5, fan 0.8
KEPT = 0.30  # dirt of a condenser that is cleaned in time
MOST = 14.0
POSITIONS = {
    "switch-1": "power_switch", "switch-2": "power_switch", "pump-1": "pump", "controller-1": "temperature_controller",
    "fan-1": "condenser_fan", "compressor-1": "compressor", "capacitor-1": "start_capacitor",
}  # fmt: skip
# mean life in years of a well-kept part, and the shape of its Weibull law
LIVES = {
    "power_switch": (9.0, 1.4), "pump": (8.0, 1.8), "temperature_controller": (12.0, 1.2), "condenser_fan": (10.0, 2.0),
    "compressor": (22.0, 1.6), "start_capacitor": (13.0, 1.8),
}  # fmt: skip


def amperes(unit: Conditions, dirt: np.ndarray | None = None, room: np.ndarray | None = None) -> np.ndarray:
    """The load of the unit's main switch by day."""
    dirt, room = unit.dirt if dirt is None else dirt, unit.room if room is None else room
    condensing = 30.0 * dirt**1.5 + (room - 24.0)
    return LOAD * (1 + 0.015 * np.clip(condensing, -10, 45)) * 115.0 / unit.volts


def excess(unit: Conditions, position: str) -> dict[str, np.ndarray]:
    """By cause the factor, at least 1, by which the wear of a position is faster than it would be without."""
    kind = POSITIONS[position]
    factors: dict[str, np.ndarray] = {}
    if kind != "pump":
        factors |= {"condenser_fouled": _dirty(unit, kind), "ambient_hot": _hot(unit, kind)}
    factors["low_voltage"] = _sagging(unit, kind)
    if kind == "pump":
        factors |= _wet(unit)
    if position == "switch-1" and unit.rating < 20.0:
        load = amperes(unit) / (0.8 * unit.rating)
        factors["switch_undersized"] = np.where(unit.active("switch_undersized"), np.clip(load, 1, 1.3) ** 14, 1.0)
    if position == "switch-2":
        loose = (unit.loose <= NUMBERS) & unit.active("loose_terminal")
        factors["loose_terminal"] = np.where(loose, 11.0, 1.0)
    return {cause: np.where(factor > 1.2, np.minimum(factor, MOST), 1.0) for cause, factor in factors.items()}


def _heated(kind: str, air: np.ndarray, current: np.ndarray) -> np.ndarray:
    """Wear by heat: so many kelvin warmer air, and a current so many times the usual."""
    squared = current**2 - 1
    kelvin = {
        "power_switch": air + 30.0 * squared,
        "compressor": air + 22.0 * squared,
        "condenser_fan": 1.4 * air,
        "temperature_controller": 1.3 * air + 6.0 * squared,
        "start_capacitor": 1.3 * air,
    }[kind]
    return 2.0 ** (np.clip(kelvin, 0, None) / 10.0)


def _dirty(unit: Conditions, kind: str) -> np.ndarray:
    kept = np.minimum(unit.dirt, KEPT)
    air = 18.0 * (unit.dirt**1.5 - kept**1.5)
    return _heated(kind, air, amperes(unit) / amperes(unit, dirt=kept))


def _hot(unit: Conditions, kind: str) -> np.ndarray:
    usual = unit.room - HOT_ROOM * unit.active("ambient_hot")
    return _heated(kind, unit.room - usual, amperes(unit) / amperes(unit, room=usual))


def _sagging(unit: Conditions, kind: str) -> np.ndarray:
    """Below 90 % motors stall on starting; how much that costs differs by part."""
    stalled = np.clip((0.9 - unit.volts / 115.0) / 0.03, 0, 1.5)
    cost = {
        "compressor": 7.0, "temperature_controller": 5.0, "start_capacitor": 4.5, "power_switch": 3.5, "pump": 2.5,
        "condenser_fan": 1.5,
    }  # fmt: skip
    return 1 + cost[kind] * stalled


def _wet(unit: Conditions) -> dict[str, np.ndarray]:
    """What the mix and its way do to a pump."""
    slush = np.clip((0.26 - unit.strength) / 0.06, 0, 1.2) * (1.2 - 0.4 * SUMMER)
    return {
        "glycol_weak": 1 + 10.0 * slush,
        "glycol_strong": 1 + 9.0 * np.clip((unit.strength - 0.42) / 0.12, 0, 1),
        "bath_low": 1 + 12.0 * np.clip((0.7 - unit.level) / 0.25, 0, 1),
        "strainer_blocked": 1 + 11.0 * np.clip((unit.strainer - 0.5) / 0.4, 0, 1),
        "unexplained": 1 + 9.0 * np.clip((7.0 - unit.acidity) / 0.8, 0, 1),
    }


def climate(unit: Conditions, kind: str) -> np.ndarray:
    """How the season and the place change the wear of a well-kept part: no cause, everybody has it."""
    usual = unit.room - HOT_ROOM * unit.active("ambient_hot")
    warm = 2.0 ** ((usual - 24.0) / 18.0)
    return np.ones(DAYS) if kind == "pump" else np.clip(warm, 0.6, 1.8)
