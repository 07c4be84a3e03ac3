"""Readings that cannot all be true: of one place, of one moment, of one time, or in the wrong unit."""

from collections.abc import Iterator
from itertools import chain
from typing import NamedTuple

from service.domain.assessment.doubt import (
    BESIDE_COLD_BEER,
    COLD_PLACES,
    FAR_APART,
    GAUGES,
    MEANT,
    baths_at_once,
    coldest_that_contradicts,
    in_wrong_unit,
    wrong_units,
)
from service.domain.assessment.evidence import MOMENT, PUMPS, Evidence
from service.domain.assessment.figure import Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import stands
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.rule import Rule, act, note
from service.domain.assessment.settle import left_before_found
from service.domain.assessment.uncertainty import surely_over, taken, together, uncertainty
from service.domain.assessment.unit_meant import KELVIN, meant
from service.domain.maintenance.catalogue import LICENSED
from service.domain.record.visits import Reading


class Pair(NamedTuple):
    """Two quantities of which one is not colder than the other by more than a margin [K], and why."""

    colder: str
    warmer: str
    margin: float
    why: str
    running: bool = False


ONE_THERMOMETER = "Read both again with one thermometer, and check it in ice water, which is at 32 °F (0 °C)."
MIXED = 2.5 / 1.8  # K between places of one stirred bath; judged, no source
PAIRS = (
    Pair("bath_temperature", "glycol_supply_temperature", 4.0 / 1.8, "the pump draws from the bath"),
    Pair("glycol_supply_temperature", "bath_temperature", MIXED, "the pump draws from the bath"),
    Pair("condenser_air_out_temperature", "condenser_air_in_temperature", 0.5, "a condenser warms its air", True),
    Pair("liquid_line_temperature", "condenser_air_in_temperature", 1.0, "air cools the condenser", True),
)


def _pairs(e: Evidence) -> Iterator[Finding]:
    yield from _at_once(e)
    yield from _far_apart(e)
    yield from _warmer_than_its_beer(e)
    yield from _swapped(e)
    if stands(e, *PUMPS):
        return  # standing pipes take the temperature of the air beside them
    for pair in PAIRS:
        if not (e.has(pair.colder) and e.has(pair.warmer)) or (pair.running and not operating_state(e).settled):
            continue
        one, other = e.reading(pair.colder), e.reading(pair.warmer)
        spread = together(uncertainty(one), uncertainty(other))
        apart = other.value.value - one.value.value
        if surely_over(apart, pair.margin, spread):
            yield _contradiction(e, pair, one, other, Uncertain(apart, "temperature_difference", spread))


def _far_apart(e: Evidence) -> Iterator[Finding]:
    """Bath and supply so far apart that neither is used."""
    aside = {each.quantity: each for each in e.set_aside if each.quantity in FAR_APART}
    if len(aside) < len(FAR_APART):
        return
    bath, supply = (aside[quantity] for quantity in FAR_APART)
    colder, warmer = sorted((bath, supply), key=lambda each: each.value.value)
    ways = [(each, meant(each, other.value.value)) for each, other in ((colder, warmer), (warmer, colder))]
    hints = [f"{each.value.entered} would agree {how}" for each, how in ways if how]
    hint = f" {'; '.join(hints)}." if hints else ""
    yield act(
        "readings_contradict",
        f"The bath reads {e.show_reading(bath)} and the glycol supply {e.show_reading(supply)}: one of the two is "
        f"wrong, and nothing is concluded from either.{hint}",
        advice=ONE_THERMOMETER,
        bath_temperature=taken(bath),
        glycol_supply_temperature=taken(supply),
    )


def _at_once(e: Evidence) -> Iterator[Finding]:
    """A bath read twice at one instant, by two thermometers or with a wrong time."""
    for cold, warm in baths_at_once(e.set_aside):
        yield act(
            "readings_contradict",
            f"The bath reads {e.show_reading(cold)} and {e.show_reading(warm)} at the same time: one thermometer, or "
            "one of the times, is wrong, and nothing is concluded from either.",
            advice=f"{ONE_THERMOMETER} Correct the times if they were read apart.",
            coldest=taken(cold),
            warmest=taken(warm),
        )


def _warmer_than_its_beer(e: Evidence) -> Iterator[Finding]:
    """A bath so warm that its glycol would warm the beer, which pours cold."""
    bath = next((each for each in e.set_aside if each.quantity == "bath_temperature"), None)
    if baths_at_once(e.set_aside):
        return  # reported by itself
    if bath is None or any(each.quantity in FAR_APART[1:] for each in e.set_aside) or in_wrong_unit(bath):
        return
    if (tap := coldest_that_contradicts(e.readings, bath)) is None:
        return
    how = meant(bath, BESIDE_COLD_BEER)
    yield act(
        "readings_contradict",
        f"The bath reads {e.show_reading(bath)}, but beer pours at {e.show_reading(tap)} with the pump running: the "
        "bath is not that warm, and nothing is concluded from it."
        + (f" {bath.value.entered} would be usual {how}." if how else ""),
        advice="Read the bath again, and check the thermometer in ice water, which is at 32 °F (0 °C).",
        bath_temperature=taken(bath),
        beer_temperature_at_tap=taken(tap),
    )


def _swapped(e: Evidence) -> Iterator[Finding]:
    aside = {each.quantity: each for each in e.set_aside if each.quantity in GAUGES}
    if len(aside) < len(GAUGES):
        return
    suction, discharge = (aside[quantity] for quantity in GAUGES)
    yield act(
        "readings_contradict",
        f"The suction pressure reads {e.show_reading(suction)} and the discharge pressure {e.show_reading(discharge)}: "
        "hoses or entries are swapped, or one of the two is mistyped, and nothing is concluded from either.",
        advice="See which hose is on which port and read both again, then correct the two readings.",
        suction_pressure=taken(suction),
        discharge_pressure=taken(discharge),
    )


def _contradiction(e: Evidence, pair: Pair, one: Reading, other: Reading, apart: Uncertain) -> Finding:
    text = (
        f"{_name(pair.colder)} {e.show_reading(one)} and {_name(pair.warmer).lower()} {e.show_reading(other)} cannot "
        f"both be right: {pair.why}."
    )
    return note(
        "readings_contradict",
        text,
        advice=ONE_THERMOMETER,
        apart=apart,
        **{pair.colder: taken(one), pair.warmer: taken(other)},
    )


def _name(quantity: str) -> str:
    return quantity.replace("_", " ").capitalize()


def _times(e: Evidence) -> Iterator[Finding]:
    if (pair := left_before_found(e.visit)) is not None:
        left, found = pair
        yield note(
            "times_contradict",
            f"{_name(left.quantity)} {e.show_reading(left)} is timed before {e.show_reading(found)}: what is left "
            "cannot come before what is found.",
            advice="Correct the times, or which of the two was as found and which as left.",
            as_left=taken(left),
            as_found=taken(found),
        )


def _units(e: Evidence) -> Iterator[Finding]:
    moments = ([each for each in e.visit.readings if each.when == when] for when in MOMENT)
    for reading in chain.from_iterable(wrong_units(readings).values() for readings in moments):
        alone = in_wrong_unit(reading)
        possible = "is hardly possible" if alone else "is hardly possible beside the other temperatures"
        unit = alone or "°C"
        yield act(
            "unit_doubtful",
            f"{_name(reading.quantity)} {reading.value.entered} {possible}, but would be usual in {unit}: "
            f"the unit{_or_point(reading)} is probably wrong, and nothing is concluded from it.",
            advice="Correct the reading, or read it again.",
            reading=reading.value,
            meant=unit,
        )


def _or_point(reading: Reading) -> str:
    """That its decimal point may be wrong as well: ten times the number would be usual too."""
    number, _, name = reading.value.entered.partition(" ")
    tenfold = KELVIN[name](10.0 * float(number)) if name in KELVIN else 0.0
    return " or the decimal point" if reading.quantity in COLD_PLACES and MEANT[0] <= tenfold <= MEANT[1] else ""


SOURCE = "Heat balance: glycol leaves the bath at the bath's temperature; margins: common practice, no source"
RULES = (
    Rule(
        codes=("unit_doubtful",),
        needs=(),
        judge=_units,
        shows="whether the units are right",
        source="common practice, no source",
        caution=LICENSED,
        runs="whole",
    ),
    Rule(
        codes=("times_contradict",),
        needs=(),
        judge=_times,
        shows="whether the times are right",
        source="common practice, no source",
        caution=LICENSED,
        runs="whole",
    ),
    Rule(
        codes=("readings_contradict",),
        needs=(),
        judge=_pairs,
        shows="whether the thermometers agree",
        source=SOURCE,
        caution=LICENSED,
    ),
)
