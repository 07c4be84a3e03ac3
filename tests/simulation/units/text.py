"""What is simulated, as the API writes it: quantities with units, and the record of a unit."""

from random import Random
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tests.simulation.units.unit import Unit

KPA_PER_PSI = 6.894757
OPTIONAL = {
    "supply": ("voltage", "breaker", "rated_current"),
    "refrigeration": ("charge", "metering", "rated_cooling", "rated_ambient", "rated_bath", "clean_split"),
    "bath": ("volume", "target_strength", "set_point", "differential"),
}


def celsius(fahrenheit: float) -> float:
    """degF to degC."""
    return (fahrenheit - 32.0) / 1.8


def fahrenheit(degrees: float) -> float:
    """degC to degF."""
    return degrees * 1.8 + 32.0


def of(value: float, unit: str, digits: int = 1) -> str:
    """A number and its unit."""
    return f"{round(value, digits) + 0.0:.{digits}f} {unit}"


def unit_record(rng: Random, unit: "Unit", rating: float) -> dict[str, Any]:
    """The body of POST /v1/units, in three of ten cases without some of its optional facts."""
    record = _full_record(rng, unit, rating)
    return record if rng.random() < 0.7 else _thinned(rng, record)


def _thinned(rng: Random, record: dict[str, Any]) -> dict[str, Any]:
    """A record as most owners have it: each of its optional facts may be missing."""
    for part, names in OPTIONAL.items():
        for name in names:
            if rng.random() < 0.4:
                record[part].pop(name, None)
    if rng.random() < 0.4:
        del record["trunks"]
    for component in record["components"]:
        if rng.random() < 0.3:
            component.pop("rated_current", None)
    return record


def _full_record(rng: Random, unit: "Unit", rating: float) -> dict[str, Any]:
    """Every field that a careful owner would have filled in."""
    split = unit.design.split * rng.uniform(0.95, 1.05) * 1.8
    return {
        "tag": unit.tag,
        "site": "",
        "supply": {
            "voltage": of(unit.volts, "V", 0),
            "phases": 1,
            "frequency": "60 Hz",
            "breaker": f"{_breaker(unit)} A",
            "rated_current": of(unit.compressor_rating + unit.fan_rating + unit.pump_rating, "A"),
        },
        "refrigeration": {
            "refrigerant": unit.design.refrigerant,
            "charge": of(unit.design.charge * 1e3, "g", 0),
            "metering": unit.design.metering,
            "low_side_port": True,
            "high_side_port": True,
            "rated_cooling": of(rating, "Btu/h", 0),
            "rated_ambient": "90 degF",
            "rated_bath": "28 degF",
            "clean_split": of(split, "deltaF", 0),
        },
        "bath": {
            "volume": of(unit.litres, "L", 0),
            "glycol": "propylene",
            "target_strength": "35 mass%",
            "set_point": of(fahrenheit(unit.set_point), "degF", 0),
            "differential": of(unit.differential * 1.8, "deltaF", 0),
        },
        "components": _components(unit),
        "trunks": [_trunk(unit, n) for n in range(len(unit.trunks))],
    }


def _breaker(unit: "Unit") -> int:
    drawn = 1.25 * (unit.compressor_rating + unit.fan_rating + unit.pump_rating)
    return next(size for size in (15, 20, 25, 30, 40, 50, 60) if size >= drawn or size == 60)


def switch_rating(unit: "Unit") -> float:
    """Of the main switch, for motors, A: ample."""
    return float(max(30, round(1.4 * (unit.compressor_rating + unit.fan_rating + unit.pump_rating))))


def _components(unit: "Unit") -> list[dict[str, Any]]:
    rated = {
        "compressor": ("compressor", unit.compressor_rating),
        "fan": ("condenser_fan", unit.fan_rating),
        "pump": ("pump", unit.pump_rating),
    }
    parts = [
        {"code": f"{code}-1", "kind": kind, "rated_current": of(amps, "A")} for code, (kind, amps) in rated.items()
    ]
    switch = {
        "code": "switch-1",
        "kind": "power_switch",
        "feeds": [part["code"] for part in parts],
        "rated_current": of(switch_rating(unit), "A", 0),
        "rating": "motor",
    }
    return [*parts, switch, {"code": "controller-1", "kind": "temperature_controller"}]


def _trunk(unit: "Unit", n: int) -> dict[str, Any]:
    trunk = unit.trunks[n]
    return {
        "code": trunk.code,
        "core_diameter": of(trunk.core, "in"),
        "insulation_thickness": of(trunk.foam, "in", 2),
        "glycol_bore": "0.375 in",
        "runs": [
            {"surroundings": around, "length": of(feet, "ft", 0), "temperature": of(degrees, "degF", 0)}
            for around, feet, degrees in trunk.runs
        ],
        "beer_lines": [{"tap": tap, "bore": "0.3125 in", "tubing": "barrier"} for tap in trunk.taps],
    }
