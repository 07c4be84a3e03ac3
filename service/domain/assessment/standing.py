"""Motors that stand although they should run: compressor, condenser fan, pump."""

from collections.abc import Iterator

from service.domain.assessment.air import air_entering
from service.domain.assessment.currents import CARE, CURRENT, ELECTRICAL
from service.domain.assessment.doubt import bath_beside, in_wrong_unit
from service.domain.assessment.evidence import PUMPS, Evidence, a_reading, gather, listed
from service.domain.assessment.figure import Figure
from service.domain.assessment.finding import Finding
from service.domain.assessment.head_control import HELD_HEAD
from service.domain.assessment.motors import cooling_wanted, currents_of, draws_current, locked, runs, stands, starts_at
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.refrigerant_of import condensing, refrigerant_of
from service.domain.assessment.rule import Rule, act, note
from service.domain.assessment.uncertainty import taken
from service.domain.assessment.voltages import open_contacts
from service.domain.maintenance.catalogue import DRY_PUMP, FAN
from service.domain.record.visits import Reading

MILD = 288.7  # K, 60 °F: in colder air a control may stop the condenser fan; common practice, no source
LOWEST_HELD = 299.8  # K, 80 °F: the least that such a control holds; it stops no fan in warmer air; common practice


def _standing(e: Evidence) -> Iterator[Finding]:
    if operating_state(e).state == "off":
        if stands(e, *PUMPS) and not _supply_was_looked_for(e):
            yield _pump(e)
        return  # the missing supply is reported by itself
    if stands(e, "compressor") and cooling_wanted(e):
        ran = next((each for each in e.readings if _compressor_ran(e, each)), None)
        yield _compressor(e) if ran is None else _stopped_again(e, ran)
    if stands(e, "condenser_fan") and runs(e, "compressor"):
        yield _fan(e)
    if stands(e, *PUMPS) and not runs(e, *PUMPS):
        yield _pump(e)


def _supply_was_looked_for(e: Evidence) -> bool:
    """Whether more than the pump's own current shows that there is no power."""
    others = currents_of(e, "compressor", "condenser_fan", "agitator")
    return bool(others) or "display_dark" in e.seen or any(each.value.dimension == "voltage" for each in e.readings)


NOT_RUNNING = (
    "Find out where the power to it stops: controller calling, contactor, overload, start relay and capacitor. A hot "
    "shell without hum is an open overload: let it cool for an hour before condemning it."
)
TRIED = (
    "It was called and did not start: read the voltage at its terminals while it tries, then check start relay, "
    "capacitor and overload. Do not let it try again and again."
)
NOT_CALLED = (
    "The controller's own sensor reads cold enough, so it does not call: check the sensor before relay, capacitor, "
    "overload or compressor."
)


def _satisfied_by_its_sensor(e: Evidence) -> bool:
    """Whether the controller shows a temperature at which it does not start the compressor."""
    return e.has("controller_temperature") and e.value("controller_temperature") < starts_at(e)


def _compressor(e: Evidence) -> Finding:
    read = currents_of(e, "compressor")
    bath = e.reading("bath_temperature")
    opened = open_contacts(e)
    advice = NOT_CALLED if _satisfied_by_its_sensor(e) else NOT_RUNNING
    tried = next((each for each in e.readings if _compressor_locked(e, each)), None)
    does = "does not run" if tried is None else f"tried to start at {e.show_reading(tried)} and stands again"
    if tried is not None:
        advice = TRIED
    elif opened:
        advice = (
            f"The power to it stops at {listed(opened)}: see there before relay, capacitor, overload or compressor."
        )
    return act(
        "compressor_stands",
        f"The bath is at {e.show_reading(bath)} and needs cooling, but the compressor draws {_amperes(e, read)}: it "
        f"{does}.",
        advice=advice,
        component=read[0].component or "",
        bath_temperature=taken(bath),
        **_currents(read),
    )


def _compressor_ran(e: Evidence, reading: Reading) -> bool:
    of_it = reading.quantity == "current" and e.kind_at(reading.component) == "compressor"
    return of_it and draws_current(e, reading) and not locked(e, reading)


def _compressor_locked(e: Evidence, reading: Reading) -> bool:
    of_it = reading.quantity == "current" and e.kind_at(reading.component) == "compressor"
    return of_it and locked(e, reading)


def _stopped_again(e: Evidence, ran: Reading) -> Finding:
    """A compressor that ran at the same moment and stands now, although the bath is warm."""
    bath = e.reading("bath_temperature")
    return act(
        "compressor_stops_early",
        f"The bath is at {e.show_reading(bath)} and needs cooling, but the compressor, which drew "
        f"{e.show_reading(ran)}, stands again: it stops before the bath is cold.",
        advice="Look at condenser, fan and voltage first: with a dirty condenser, a stopped fan or a voltage that is "
        "off, an overload opens and closes again. Then see whether the controller's differential is too small.",
        component=ran.component or "",
        bath_temperature=taken(bath),
        **_currents([ran]),
    )


def _fan(e: Evidence) -> Finding:
    read = currents_of(e, "condenser_fan")
    text = f"The compressor runs and its condenser fan draws {_amperes(e, read)}: the fan does not run"
    figures: dict[str, Figure] = {"component": read[0].component or "", **_currents(read)}
    if _may_be_stopped(e):
        advice = (
            "Watch whether the fan starts as the head pressure rises: in cold air a control stops it. "
            "If it does not start, switch the compressor off."
        )
        return note("fan_stands", f"{text}, perhaps by head-pressure control.", advice=advice, **figures)
    advice = (
        "Switch the compressor off now. Check the fan's supply, capacitor, blade and bearings; clean nothing first."
    )
    return act("fan_stands", f"{text}.", advice=advice, **figures)


def _may_be_stopped(e: Evidence) -> bool:
    """Whether a control of the head may have stopped the fan: by the head where it was read, else by the air alone.

    In warm air a fan that fails lets the head rise over what a control holds within minutes; in cold air a high split
    alone is its work.
    """
    air = _air(e)
    if air is not None and air >= LOWEST_HELD:
        return False
    if e.has("discharge_pressure") and refrigerant_of(e) is not None:
        return condensing(e) <= HELD_HEAD
    return air is not None and air < MILD


def _air(e: Evidence) -> float | None:
    """The air entering the condenser at the moment, else at the visit's other: the weather stays."""
    here = air_entering(e)
    return air_entering(gather(e.visit, e.unit, e.system, elevation=e.elevation)) if here is None else here


def _pump(e: Evidence) -> Finding:
    read = currents_of(e, *PUMPS)
    return act(
        "pump_stands",
        f"The glycol pump draws {_amperes(e, read)}: it does not run, and nothing cools the lines.",
        advice="Check its switch, supply, capacitor and whether it is seized. Do not run it dry.",
        component=read[0].component or "",
        **_currents(read),
    )


def _not_moving(e: Evidence) -> Iterator[Finding]:
    """A warm supply over a cold bath that the beer bears out, with no pump known to stand."""
    warm = (each for each in e.set_aside if each.quantity == "glycol_supply_temperature" and not in_wrong_unit(each))
    supply = next(warm, None)
    if supply is None or stands(e, *PUMPS):
        return
    bath = bath_beside(e.readings, supply)
    if bath is None or (bath.at is None and operating_state(e).state == "pulling_down"):
        return
    turns = f", although the pump draws {_amperes(e, currents_of(e, *PUMPS))}" if runs(e, *PUMPS) else ""
    yield act(
        "glycol_not_moving",
        f"The bath is at {e.show_reading(bath)}, but the glycol supply is at {e.show_reading(supply)} and the beer is "
        f"as warm: no glycol moves{turns}.",
        advice="Look at the stream of the return. Check the coupling between motor and pump, shut valves, ice at the "
        "suction and air in the loop, with the pump locked out. Do not run it dry.",
        bath_temperature=taken(bath),
        glycol_supply_temperature=taken(supply),
        **_currents(currents_of(e, *PUMPS)),
    )


def _amperes(e: Evidence, read: list[Reading]) -> str:
    return listed([e.show_reading(each) for each in read])


def _currents(read: list[Reading]) -> dict[str, Figure]:
    return {f"current {each.component}": taken(each) for each in read}


RULES = (
    Rule(
        codes=("compressor_stands", "compressor_stops_early", "fan_stands", "pump_stands"),
        needs=(CURRENT,),
        judge=_standing,
        shows="whether every motor runs that should",
        source="The pump of a beer unit runs all day, its thermostat switches the refrigeration alone: a regional "
        "beer-system guide; an overload that opens again and again: US Army TM 55-1930-209-14&P-15, p. 124; condenser "
        "fan: common practice, no source",
        caution=f"{CARE} {FAN} {DRY_PUMP}",
        asked_by=ELECTRICAL,
        weight=0.5,
    ),
    Rule(
        codes=("glycol_not_moving",),
        needs=(a_reading("bath_temperature"), a_reading("beer_temperature_at_tap")),
        judge=_not_moving,
        shows="whether the pump moves glycol",
        source="Heat balance: glycol leaves the bath at the bath's temperature; coupling and valves: common practice, "
        "no source",
        caution=f"{CARE} {DRY_PUMP}",
        asked_by=frozenset({"warm_pour", "no_flow"}),
        weight=0.0,
    ),
)
