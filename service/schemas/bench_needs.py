"""What the inputs of a calculation need of one another, as JSON schema; the domain checks it."""

from collections.abc import Mapping
from typing import Any

from service.domain.bench.electricity import Motor, Switch
from service.domain.bench.load import Load
from service.domain.bench.loop import DRIVES, LoopInputs
from service.domain.bench.pour import Standstill
from service.domain.bench.refrigeration import DirtyCondenser, LineReadings, Saturated
from service.domain.bench.strengths import LIQUID_AT_28_DEGF
from service.domain.physics.electrical.motor_currents import COLUMNS
from service.domain.physics.refrigeration.refrigerants import ALSO_CALLED, REFRIGERANTS
from service.schemas.measures import measure_schema, name_of, span_of


def one_of(*groups: tuple[str, ...]) -> dict[str, Any]:
    """Exactly one of these groups of fields is given."""
    every = dict.fromkeys(name for group in groups for name in group)
    return {
        "anyOf": [
            {"required": list(group), "properties": {name: {"not": {}} for name in every if name not in group}}
            for group in groups
        ]
    }


def _pairs(*pairs: tuple[str, str]) -> dict[str, Any]:
    return {"dependentRequired": {one: [other] for pair in pairs for one, other in (pair, pair[::-1])}}


def _motors_by_power() -> dict[str, Any]:
    """The current of a motor follows from its power at the voltages of the table only."""
    bands = [measure_schema("Voltage", [("voltage", band.low, band.high)], digits=6) for _, band in COLUMNS]
    given = {"motors": {"items": {"required": ["current"], "properties": {"current": {"not": {"type": "null"}}}}}}
    return {"anyOf": [*({"properties": {"rated_voltage": band}} for band in bands), {"properties": given}]}


def _liquid(temperature: str) -> dict[str, Any]:
    """Glycol that freezes above the default temperature of 28 degF needs its temperature."""
    strength = measure_schema(
        name_of(d for d, _, _ in LIQUID_AT_28_DEGF), [span_of(*span) for span in LIQUID_AT_28_DEGF], digits=4
    )
    given = {"required": [temperature], "properties": {temperature: {"not": {"type": "null"}}}}
    return {"anyOf": [given, {"properties": {"strength": strength}}]}


SUCTION, LIQUID = (("suction_pressure", "suction_line_temperature"), ("liquid_pressure", "liquid_line_temperature"))
NEEDS: Mapping[type[Any], Mapping[str, Any]] = {
    Saturated: one_of(("temperature",), ("pressure",)),
    LineReadings: {"anyOf": [{"required": list(SUCTION)}, {"required": list(LIQUID)}], **_pairs(SUCTION, LIQUID)},
    DirtyCondenser: one_of(("split",), ("condensing",), ("head_pressure",)),
    LoopInputs: {**one_of(*DRIVES), "allOf": [_liquid("temperature")]},
    Standstill: _liquid("glycol_temperature"),
    Motor: {"anyOf": [{"required": ["current"]}, {"required": ["rated_power"]}]},
    Switch: _motors_by_power(),
    Load: {"dependentRequired": {"rated_cooling": ["refrigerant"]}},
}


def _spellings() -> str:
    names = [each.name.removeprefix("R-").replace("(", "[(]").replace(")", "[)]") for each in REFRIGERANTS]
    return f"^(?:[Rr]-?(?:{'|'.join(names)})|{'|'.join(name for name in ALSO_CALLED if name.isalpha())})$"


REFRIGERANT = {"type": "string", "pattern": _spellings(), "examples": ["R-134a"]}
