"""What the current through a component of a unit drives in the end."""

from collections.abc import Mapping

from service.domain.record.fleet import Component

SWITCHING = frozenset({"power_switch", "contactor", "temperature_controller", "power_cord", "start_relay"})
COIL = ("temperature_controller", "contactor")  # a controller switches a contactor's coil, not what the contactor feeds


def loads_behind(
    parts: Mapping[str, Component], part: Component, passed: frozenset[str] = frozenset()
) -> tuple[Component, ...]:
    """The loads that a component feeds, through other switches too; a loop in the record is followed once."""
    loads: dict[str, Component] = {}
    for code in part.feeds:
        fed = parts.get(code)
        if fed is None or code in passed or (part.kind, fed.kind) == COIL:
            continue
        further = loads_behind(parts, fed, passed | {part.code, code}) if fed.kind in SWITCHING else (fed,)
        loads |= {load.code: load for load in further}
    return tuple(loads.values())
