"""What a component of a unit is called that a table names by its kind."""

from collections.abc import Mapping

from service.domain.record.fleet import COMPONENT_KINDS

SHORT = {  # of a unit that has one of the kind
    "power_switch": "switch",
    "temperature_controller": "controller",
    "condenser_fan": "fan",
    "heat_exchanger": "coil",
    "power_cord": "cord",
    "overload_protector": "overload",
    "start_capacitor": "capacitor",
    "start_relay": "relay",
}
KINDS = {short: kind for kind, short in SHORT.items()}


def component_of(kind: str, known: Mapping[str, str]) -> str:
    """The code of a unit's component of a kind: that of its only one, else a usual one.

    >>> component_of("power_switch", {}), component_of("pump", {"main": "pump"})
    ('switch-1', 'main')
    """
    own = [code for code, of in known.items() if of == kind]
    return own[0] if len(own) == 1 else f"{SHORT.get(kind, kind).replace('_', '-')}-1"


def kind_of(component: str, known: Mapping[str, str]) -> dict[str, str]:
    """The kind that a component's code stands for, so that a unit without it can get it; empty where it has it."""
    name = component.rpartition("-")[0].replace("-", "_")
    kind = KINDS.get(name, name)
    return {"kind": kind} if component not in known and kind in COMPONENT_KINDS else {}


def named(text: str, known: Mapping[str, str]) -> dict[str, str]:
    """The component that a text names, by its code or its kind, with its kind where it is new to the unit."""
    written = text.strip().casefold().replace(" ", "_")
    kind = KINDS.get(written, written)
    code = component_of(kind, known) if kind in COMPONENT_KINDS else text.strip()
    return {
        "component": code,
        **kind_of(code, known),
        **({"kind": kind} if kind in COMPONENT_KINDS and code not in known else {}),
    }
