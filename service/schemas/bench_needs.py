"""What the inputs of a calculation need of one another, as JSON schema; the domain checks it."""

from collections.abc import Mapping
from typing import Any

from service.domain.bench.electricity import Motor
from service.domain.bench.load import Load
from service.domain.bench.loop import DRIVES, LoopInputs
from service.domain.bench.refrigeration import DirtyCondenser, LineReadings, Saturated
from service.domain.physics.refrigeration.refrigerants import ALSO_CALLED, REFRIGERANTS


def one_of(*groups: tuple[str, ...]) -> dict[str, Any]:
    """Exactly one of these groups of fields is given."""
    every = dict.fromkeys(name for group in groups for name in group)
    return {
        "anyOf": [
            {"required": list(group), "properties": {name: False for name in every if name not in group}}
            for group in groups
        ]
    }


def _pairs(*pairs: tuple[str, str]) -> dict[str, Any]:
    return {"dependentRequired": {one: [other] for pair in pairs for one, other in (pair, pair[::-1])}}


SUCTION, LIQUID = (("suction_pressure", "suction_line_temperature"), ("liquid_pressure", "liquid_line_temperature"))
NEEDS: Mapping[type[Any], Mapping[str, Any]] = {
    Saturated: one_of(("temperature",), ("pressure",)),
    LineReadings: {"anyOf": [{"required": list(SUCTION)}, {"required": list(LIQUID)}], **_pairs(SUCTION, LIQUID)},
    DirtyCondenser: one_of(("split",), ("condensing",), ("head_pressure",)),
    LoopInputs: one_of(*DRIVES),
    Motor: {"anyOf": [{"required": ["current"]}, {"required": ["rated_power"]}]},
    Load: {"dependentRequired": {"rated_cooling": ["refrigerant"]}},
}


def _spellings() -> str:
    names = [each.name.removeprefix("R-").replace("(", "[(]").replace(")", "[)]") for each in REFRIGERANTS]
    return f"^(?:[Rr]-?(?:{'|'.join(names)})|{'|'.join(name for name in ALSO_CALLED if name.isalpha())})$"


REFRIGERANT = {"type": "string", "pattern": _spellings(), "examples": ["R-134a"]}
