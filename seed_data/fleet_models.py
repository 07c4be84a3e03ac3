"""The models of glycol unit that stand in Sallow Ferry: five invented makers, seven invented models."""

from dataclasses import dataclass
from typing import Any

Record = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Model:
    """What is the same on every unit of a model; `parts` are components without their dates."""

    maker: str
    supply: Record
    refrigeration: Record
    bath: Record
    parts: tuple[Record, ...]


def _supply(voltage: str, phases: int, breaker: str, rated: str) -> Record:
    return {
        "voltage": voltage,
        "phases": phases,
        "frequency": "60 Hz",
        "breaker": breaker,
        "rated_current": rated,
    }


def _refrigeration(refrigerant: str, charge: str, metering: str, ports: tuple[bool, bool], **rated: str) -> Record:
    return {
        "refrigerant": refrigerant,
        "charge": charge,
        "metering": metering,
        "low_side_port": ports[0],
        "high_side_port": ports[1],
        "rated_cooling": rated["cooling"],
        "rated_ambient": "90 degF",
        "rated_bath": "28 degF",
        "clean_split": rated["split"],
    }


def _bath(volume: str, glycol: str = "propylene") -> Record:
    return {
        "volume": volume,
        "glycol": glycol,
        "target_strength": "35 mass%",
        "set_point": "28 degF",
        "differential": "4 deltaF",
    }


def _part(code: str, kind: str, **more: Any) -> Record:
    return {"code": code, "kind": kind, **more}


def _cold_side(compressor: str, fan: str) -> tuple[Record, ...]:
    return (
        _part("compressor-1", "compressor", rated_current=compressor),
        _part("fan-1", "condenser_fan", rated_current=fan),
        _part("strainer-1", "strainer"),
    )


def _switch(code: str, feeds: list[str], current: str, rating: str) -> Record:
    return _part(code, "power_switch", feeds=feeds, rated_current=current, rating=rating)


_SMALL = (
    _part("cord-1", "power_cord", feeds=["switch-1", "switch-2"], rated_current="15 A"),
    _switch("switch-1", ["thermostat-1"], "16 A", "ac_only"),
    _switch("switch-2", ["pump-1"], "16 A", "motor"),
    _part("thermostat-1", "temperature_controller", feeds=["compressor-1", "fan-1"], rated_current="16 A"),
)
_CONTACTOR = (
    _switch("switch-1", ["thermostat-1"], "20 A", "resistive"),
    _switch("switch-2", ["motor-1"], "20 A", "motor"),
    _part("thermostat-1", "temperature_controller", feeds=["contactor-1"], rated_current="10 A"),
    _part("contactor-1", "contactor", feeds=["compressor-1", "fan-1"], rated_current="30 A"),
)

MODELS = {
    "HS-25": Model(
        "Hoarstone",
        _supply("115 V", 1, "20 A", "13 A"),
        _refrigeration("R-134a", "310 g", "capillary", (False, False), cooling="2600 Btu/h", split="24 deltaF"),
        _bath("8 gal"),
        (*_SMALL, _part("pump-1", "pump", rated_current="3.4 A", rated_power="0.17 hp"), *_cold_side("8.6 A", "0.9 A")),
    ),
    "HS-60": Model(
        "Hoarstone",
        _supply("208 V", 1, "30 A", "21 A"),
        _refrigeration("R-404A", "2.4 lb", "expansion_valve", (True, True), cooling="6200 Btu/h", split="26 deltaF"),
        _bath("15 gal"),
        (
            *_CONTACTOR,
            _part("motor-1", "pump_motor", feeds=["pump-1"], rated_current="3.1 A", rated_power="0.33 hp"),
            _part("pump-1", "pump", rated_power="0.33 hp"),
            _part("agitator-1", "agitator", rated_current="0.8 A"),
            *_cold_side("14.2 A", "1.9 A"),
        ),
    ),
    "Keel 40": Model(
        "Brineholt",
        _supply("115 V", 1, "20 A", "12 A"),
        _refrigeration("R-290", "145 g", "capillary", (False, False), cooling="4000 Btu/h", split="22 deltaF"),
        _bath("38 L"),
        (
            *_SMALL,
            _part("pump-1", "pump", rated_current="2.8 A", rated_power="0.17 hp"),
            _part("agitator-1", "agitator", rated_current="0.5 A"),
            *_cold_side("7.4 A", "0.6 A"),
        ),
    ),
    "Keel 120": Model(
        "Brineholt",
        _supply("208 V", 3, "40 A", "24 A"),
        _refrigeration("R-449A", "6.5 lb", "expansion_valve", (True, True), cooling="11800 Btu/h", split="25 deltaF"),
        _bath("40 gal"),
        (
            *_CONTACTOR,
            _part("motor-1", "pump_motor", feeds=["pump-1"], rated_current="3.6 A", rated_power="0.5 hp"),
            _part("pump-1", "pump", rated_power="0.5 hp"),
            _part("exchanger-1", "heat_exchanger"),
            *_cold_side("15.5 A", "2.6 A"),
        ),
    ),
    "K9": Model(
        "Kelvane",
        _supply("115 V", 1, "20 A", "14 A"),
        _refrigeration("R-134a", "14.8 oz", "capillary", (True, False), cooling="2900 Btu/h", split="25 deltaF"),
        _bath("9.5 gal"),
        (*_SMALL, _part("pump-1", "pump", rated_current="5.8 A", rated_power="0.25 hp"), *_cold_side("7.9 A", "1.1 A")),
    ),
    "Longline 3": Model(
        "Tarnbeck",
        _supply("208 V", 3, "30 A", "18 A"),
        _refrigeration("R-404A", "4.1 lb", "expansion_valve", (True, True), cooling="8900 Btu/h", split="27 deltaF"),
        _bath("100 L"),
        (
            *_CONTACTOR,
            _part("motor-1", "pump_motor", feeds=["pump-1"], rated_current="2.9 A", rated_power="0.33 hp"),
            _part("pump-1", "pump", rated_power="0.33 hp"),
            _part("agitator-1", "agitator", rated_current="0.9 A"),
            _part("exchanger-1", "heat_exchanger"),
            *_cold_side("11.8 A", "2.2 A"),
        ),
    ),
    "Number Four": Model(
        "Frostwick",
        _supply("115 V", 1, "20 A", "15 A"),
        _refrigeration("R-134a", "620 g", "expansion_valve", (True, True), cooling="3100 Btu/h", split="31 deltaF"),
        _bath("42 L", "ethylene"),
        (
            *_SMALL,
            _part("motor-1", "pump_motor", feeds=["pump-1"], rated_current="4.9 A", rated_power="0.25 hp"),
            _part("pump-1", "pump", rated_power="0.25 hp"),
            *_cold_side("9.1 A", "1.4 A"),
        ),
    ),
}


def refrigerant(model: str) -> str:
    """The refrigerant's number, as on the nameplate."""
    return str(MODELS[model].refrigeration["refrigerant"])


def part_codes(model: str, kind: str) -> list[str]:
    """Codes of a model's components of one kind, in order."""
    return [part["code"] for part in MODELS[model].parts if part["kind"] == kind]
