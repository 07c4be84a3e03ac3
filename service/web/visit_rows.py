"""The readings that the form of a visit asks for at a unit, in groups, each with its unit fixed."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.domain.condition.latest import LatestReading
from service.domain.quantities import DIMENSIONS, format_quantity
from service.domain.record.fleet import Component, Unit
from service.domain.record.readings import BY_QUANTITY

SIGNS = {"degC": "°C", "degF": "°F"}
FINE = {"length": {"si": "mm", "us": "in"}, "mass": {"si": "g", "us": "oz"}}
STRENGTH_UNITS = {"brix": "Brix", "temperature": "freezes at", "mass_fraction": "mass%", "volume_fraction": "vol%"}
SWITCHES = ("power_switch", "contactor", "temperature_controller", "overload_protector", "start_relay")
MOTORS = ("pump", "pump_motor", "compressor", "condenser_fan", "agitator")
OF_SWITCH = (
    "current",
    "contact_voltage_drop",
    "terminal_temperature",
    "voltage_before",
    "voltage_behind",
    "voltage_across",
)
OF_MOTOR = ("current", "voltage_at")
EVERY_VISIT = (
    "bath_temperature",
    "glycol_supply_temperature",
    "glycol_return_temperature",
    "ambient_temperature",
    "bath_level",
)
GROUPS: Mapping[str, tuple[str, ...]] = {
    "Cooler, kegs, controller": (
        "cooler_temperature",
        "keg_temperature",
        "controller_set_point",
        "controller_temperature",
    ),
    "Glycol": ("glycol_ph", "glycol_flow", "pump_pressure"),
    "Condenser air": ("condenser_air_in_temperature", "condenser_air_out_temperature"),
    "Refrigeration": (
        "suction_pressure",
        "suction_line_temperature",
        "discharge_pressure",
        "discharge_line_temperature",
        "liquid_line_temperature",
        "condenser_bend_temperature",
        "frost_distance_after_capillary",
        "refrigerant_added",
        "refrigerant_recovered",
    ),
}
Place = tuple[str, str | None, str | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One reading: its name in the form without the moment, its label, the unit as written and as shown."""

    name: str
    label: str
    unit: str
    sign: str
    last: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Readings that are taken together."""

    title: str
    rows: tuple[Row, ...]


def main_rows(unit: Unit, latest: Sequence[LatestReading], system: str) -> list[Row]:
    """What is read on every visit, the beer at the first tap among it."""
    found = [row_of((quantity, None, None), latest, system) for quantity in EVERY_VISIT]
    return [*found, *(row_of(("beer_temperature_at_tap", None, tap), latest, system) for tap in taps(unit)[:1])]


def groups(unit: Unit, latest: Sequence[LatestReading], system: str) -> list[Group]:
    """What is read where there is a reason."""
    places: dict[str, list[Place]] = {title: [(each, None, None) for each in names] for title, names in GROUPS.items()}
    asked: dict[str, list[Place]] = {
        "Beer at the other taps": [("beer_temperature_at_tap", None, tap) for tap in taps(unit)[1:]],
        **places,
        "Electricity": [("supply_voltage", None, None), *_of_components(unit.components)],
    }
    return [Group(title, tuple(row_of(place, latest, system) for place in own)) for title, own in asked.items() if own]


def taps(unit: Unit) -> list[str]:
    """The taps of all trunks, each once."""
    return list(dict.fromkeys(line.tap for trunk in unit.trunks for line in trunk.beer_lines))


def _of_components(components: Sequence[Component]) -> Iterator[Place]:
    for part in components:
        if part.removed_on is None:
            quantities = OF_SWITCH if part.kind in SWITCHES else OF_MOTOR if part.kind in MOTORS else ()
            yield from ((quantity, part.code, None) for quantity in quantities)


def row_of(place: Place, latest: Sequence[LatestReading], system: str) -> Row:
    """The row of one reading, with its latest value."""
    quantity, component, tap = place
    unit = unit_of(BY_QUANTITY[quantity].dimensions[0], system)
    return Row(
        name=":".join((quantity, component or "", tap or "")),
        label=label_of(place),
        unit=unit,
        sign=SIGNS.get(unit, unit),
        last=next((_last(each, system) for each in latest if (each.quantity, each.component, each.tap) == place), ""),
    )


def unit_of(dimension: str, system: str) -> str:
    """The unit in which the form asks for a dimension: that of answers, or a finer one."""
    kind = DIMENSIONS[dimension]
    return FINE.get(dimension, {}).get(system) or (kind.si if system == "si" else kind.us)


def label_of(place: Place) -> str:
    """A reading in words.

    >>> label_of(("beer_temperature_at_tap", None, "Tap 3")), label_of(("current", "pump-1", None))
    ('beer temperature at Tap 3', 'current, pump-1')
    """
    quantity, component, tap = place
    words = quantity.replace("_", " ").replace(" ph", " pH")
    if tap:
        return f"{words.removesuffix('at tap')}at {tap if 'tap' in tap.lower() else f'tap {tap}'}"
    return f"{words}, {component}" if component else words


def _last(each: LatestReading, system: str) -> str:
    standing = each.as_left or each.as_found
    if each.as_left and each.as_found and each.as_found.at > each.as_left.at:
        standing = each.as_found
    return "" if standing is None else f"last {format_quantity(standing.value, system)}"
