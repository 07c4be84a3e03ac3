"""Each motor's current against its own rating."""

from collections.abc import Iterator

from service.domain.assessment.evidence import Evidence, Need, a_reading, computed, listed, mended_since, percent, worth
from service.domain.assessment.rule import Rule, Said, act, fine, note, told, unless_mended
from service.domain.assessment.statement import Figure
from service.domain.maintenance.catalogue import CAPACITORS, LICENSED, LOCKOUT
from service.domain.physics.electrical.motor_currents import (
    COLUMNS,
    RATED_POWER,
    current_share,
    full_load_current,
    locked_rotor_current,
)
from service.domain.physics.ranges import above, below
from service.domain.record.fleet import Component
from service.domain.record.visits import Reading

STANDING_STILL = 0.5  # of six times the rated current; common practice, no source
METER = 0.03  # what a clamp meter is off; common practice, no source
IDLE = 0.1  # of the rated current, below which a motor does not run; common practice, no source
LIGHT = 0.4  # of the rated current; common practice, no source
BY_TABLE = frozenset({"pump", "pump_motor", "agitator"})  # fans and hermetic compressors follow no horsepower
SWITCHING = frozenset({"power_switch", "contactor", "temperature_controller", "power_cord", "start_relay"})


def rated(part: Component) -> float | None:
    """The current on a component's nameplate [A]; nothing where 0 was recorded."""
    return worth(part.rated_current) or None


def _loads(e: Evidence) -> list[tuple[Component, Reading]]:
    """The components that are loads, with their currents."""
    read = [(e.parts.get(each.component or ""), each) for each in e.each("current")]
    return [(part, each) for part, each in read if part is not None and part.kind not in SWITCHING]


RATED = Need(
    "components.rated_current",
    "unit",
    "the nameplate currents of the unit's components",
    lambda e: any(rated(part) is not None for part, _ in _loads(e)) if e.has("current") else True,
)


def _against_nameplate(e: Evidence) -> Iterator[Said]:
    in_order = []
    for part, reading in _loads(e):
        nameplate, current = rated(part), reading.value.value
        if nameplate is None:
            continue
        share = current / nameplate
        least = LIGHT if part.kind == "compressor" else IDLE
        if not below(share, least) and not above(share, 1.0):
            in_order.append(f"{part.code} {e.show(current, 'current')} of {e.show(nameplate, 'current')}")
        else:
            yield from told(e, _off, part, reading, nameplate)
    if in_order:
        yield fine("currents_good", f"Under the nameplate: {listed(in_order)}.", components=", ".join(in_order))


def _off(e: Evidence, part: Component, reading: Reading, nameplate: float) -> Iterator[Said]:
    current = reading.value.value
    share = current_share(current, rated=nameplate)
    figures: dict[str, Figure] = {
        "component": part.code,
        "current": computed(current, "current"),
        "rated_current": computed(nameplate, "current"),
        "share": computed(share, "fraction"),
    }
    draws = f"{part.code} draws {e.told(reading)}; its nameplate has {e.show(nameplate, 'current')}"
    if below(share, IDLE):
        advice = "Where it ought to run: check its controller, overload, capacitor and supply."
        yield note("current_none", f"{draws}: it does not run.", advice=advice, **figures)
    elif below(share, LIGHT):
        advice = "Look at the suction side: little charge, a restriction, or a compressor that no longer pumps."
        yield note("current_light", f"{draws}: it has little to do.", advice=advice, **figures)
    elif not above(share, 1.0 + METER):
        yield note("current_at_rating", f"{draws}, as near as the meter tells.", advice="Watch it.", **figures)
    elif not below(current, STANDING_STILL * locked_rotor_current(nameplate)):
        said = f"{draws}, {share:.1f} times: the rotor stands still under voltage."
        yield unless_mended(act("rotor_locked", said, advice=LOCKED, **figures), mended_since(e, reading))
    else:
        over = act(
            "current_over_rating",
            f"{draws}: {percent(share - 1.0)} over.",
            advice=OVER.get(part.kind, OTHER),
            **figures,
        )
        yield unless_mended(over, mended_since(e, reading))


LOCKED = (
    "Switch it off at once and let it cool. Turn it by hand with the power locked out; check capacitor, start relay, "
    "bearings, and what it drives."
)
OTHER = "Find what loads it: supply voltage under load, bearings, and what it drives. Do not set the overload up."
PUMPING = (
    "Check the glycol's strength, the strainer, the voltage under load, bearings and coupling. "
    "Do not set the overload up."
)
OVER = {
    "compressor": "Check the condenser and its fan, the air, and the voltage under load. Do not set the overload up.",
    "condenser_fan": "Check blade, bearings and the voltage under load. Do not set the overload up.",
    "pump": PUMPING,
    "pump_motor": PUMPING,
    "agitator": PUMPING,
}


def _against_table(e: Evidence) -> Iterator[Said]:
    for part, reading in _loads(e):
        if rated(part) is None and part.kind in BY_TABLE and part.rated_power is not None:
            yield from told(e, _by_table, part, reading)


def _by_table(e: Evidence, part: Component, reading: Reading) -> Iterator[Said]:
    current, power, voltage = reading.value.value, worth(part.rated_power), worth(e.supply.voltage)
    in_table = voltage is not None and any(band.low <= voltage <= band.high for _, band in COLUMNS)
    if power is None or voltage is None or not in_table or not RATED_POWER.low <= power <= RATED_POWER.high:
        return
    table = full_load_current(rated_power=power, rated_voltage=voltage)
    if above(current, table * (1.0 + METER)):
        yield note(
            "current_over_table",
            f"{part.code} draws {e.told(reading)}; the table has {e.show(table, 'current')} for a "
            "motor of its power, and nameplates are mostly lower.",
            advice=f"Put its nameplate current on the record. {PUMPING}",
            component=part.code,
            current=computed(current, "current"),
            table_current=computed(table, "current"),
        )


CURRENT = a_reading("current")
CARE = f"{LOCKOUT} {CAPACITORS} {LICENSED}"
ELECTRICAL = frozenset(
    {
        "unit_dead", "noisy", "burnt", "discoloured", "seized", "power_switch", "contactor", "compressor",
        "condenser_fan", "pump", "pump_motor", "overload_protector", "start_capacitor", "start_relay",
        "controls_scorched",
    }
)  # fmt: skip

RULES = (
    Rule(
        codes=(
            "currents_good",
            "current_none",
            "current_light",
            "current_at_rating",
            "current_over_rating",
            "rotor_locked",
        ),
        needs=(CURRENT, RATED),
        judge=_against_nameplate,
        tells="whether any motor is over its nameplate",
        source="Every motor under its nameplate: common practice, no source; locked rotor at six times it, "
        "NEC Table 430.251(A)",
        caution=CARE,
        asked_by=ELECTRICAL,
    ),
    Rule(
        codes=("current_over_table",),
        needs=(CURRENT,),
        judge=_against_table,
        tells="whether a motor draws more than its power allows",
        source="NEC (NFPA 70) Table 430.248, single-phase full-load currents, as a check of plausibility",
        caution=CARE,
        weight=0.2,
    ),
)
