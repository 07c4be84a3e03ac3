"""Readings that are set aside before anything is concluded: of a wrong unit, or of a bath and its supply far apart."""

from collections.abc import Sequence
from datetime import datetime

from service.domain.assessment.bands import fahrenheit
from service.domain.assessment.uncertainty import THERMOMETER, surely_over, together
from service.domain.assessment.unit_meant import DEGREES, as_celsius, beside
from service.domain.record.visits import Reading

FAR_APART = ("bath_temperature", "glycol_supply_temperature")
HOW_FAR = 15.0 / 1.8  # K: no stirred bath differs that much from what its pump draws; judged, no source
ONE_BATH = 1.0  # K between two places of one stirred bath; judged, no source
GAUGES = ("suction_pressure", "discharge_pressure")
SWAPPED = 100e3  # Pa, 15 psi: more than the errors of two gauges of a unit at rest
STANDS = 0.1  # A

# Temperatures that no cooler, bath or beer has, but that are usual ones in the other unit: judged, no source.
COLD_PLACES = (
    "bath_temperature",
    "glycol_supply_temperature",
    "glycol_return_temperature",
    "beer_temperature_at_tap",
    "cooler_temperature",
)
BELIEVED = fahrenheit(12.0)  # colder than any bath, cooler or beer of a working unit
MEANT = (fahrenheit(24.0), fahrenheit(60.0))
COLD_BEER, BESIDE_COLD_BEER = fahrenheit(41.0), fahrenheit(30.0)  # and the bath that goes with it
FAR_OVER_BEER = 25.0 / 1.8  # K of a bath: even a short trunk warms its beer by a fifth of the way; judged, no source
TOO_WARM_BEER = fahrenheit(90.0)


def in_wrong_unit(reading: Reading) -> str | None:
    """The unit that a temperature was probably read in, where it was entered in another; else None."""
    entered = reading.value.entered
    if reading.quantity not in COLD_PLACES:
        return None
    kelvin = reading.value.value
    if entered.endswith("F") and kelvin < BELIEVED:
        return "°C" if MEANT[0] <= as_celsius(reading) <= MEANT[1] else None
    if entered.endswith("C") and reading.quantity in ("beer_temperature_at_tap", "cooler_temperature"):
        as_fahrenheit = fahrenheit(kelvin - DEGREES)
        return "°F" if kelvin > TOO_WARM_BEER and MEANT[0] <= as_fahrenheit <= MEANT[1] else None
    return None


def wrong_units(readings: Sequence[Reading]) -> dict[int, Reading]:
    """The readings of one moment whose unit is probably wrong, by themselves or beside the others, by identity."""
    alone = [each for each in readings if in_wrong_unit(each) is not None]
    others = [each for each in readings if each not in alone]
    return {id(each): each for each in (*alone, *beside(others))}


def set_aside(readings: Sequence[Reading], pumps: frozenset[str]) -> tuple[Reading, ...]:
    """The readings of one moment that no rule uses; `pumps` are the codes of the pumps."""
    aside = list(wrong_units(readings).values())
    aside += swapped_gauges(readings)
    aside += [each for pair in baths_at_once(readings) for each in pair]
    usable = [each for each in readings if each not in aside]
    pumping = any(
        each.quantity == "current" and each.component in pumps and each.value.value > STANDS for each in readings
    )
    if pumping:
        baths = [each for each in usable if each.quantity == "bath_temperature"]
        aside += baths if all(coldest_that_contradicts(usable, each) for each in baths) else []
        usable = [each for each in readings if each not in aside]
    supply = next((each for each in reversed(usable) if each.quantity == "glycol_supply_temperature"), None)
    bath = None if supply is None else bath_beside(usable, supply)
    if bath is None or supply is None or abs(bath.value.value - supply.value.value) <= HOW_FAR:
        return tuple(aside)
    stands = any(
        each.quantity == "current" and each.component in pumps and each.value.value <= STANDS for each in readings
    )
    if stands or _beer_is_as_warm(readings, bath.value.value, supply.value.value):
        return (*aside, supply)  # the pipe takes the temperature of the air, the bath is right
    return (*aside, *(each for each in readings if each.quantity in FAR_APART))


def coldest_that_contradicts(readings: Sequence[Reading], bath: Reading) -> Reading | None:
    """The coldest of taps that all pour cold, where a bath that warm would have warmed their beer."""
    taps = [each for each in readings if each.quantity == "beer_temperature_at_tap"]
    coldest = min(taps, key=lambda each: each.value.value, default=None)
    if coldest is None or max(each.value.value for each in taps) > COLD_BEER:
        return None
    return coldest if bath.value.value - coldest.value.value > FAR_OVER_BEER else None


def swapped_gauges(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """The pressures of a moment whose suction stands over its head: the hoses were swapped, or the entries."""
    latest = {each.quantity: each for each in readings if each.quantity in GAUGES}
    if len(latest) < len(GAUGES):
        return ()
    suction, discharge = (latest[quantity].value.value for quantity in GAUGES)
    return tuple(each for each in readings if each.quantity in GAUGES) if suction - discharge > SWAPPED else ()


def baths_at_once(readings: Sequence[Reading]) -> tuple[tuple[Reading, Reading], ...]:
    """The bath's coldest and warmest reading of one instant, where they are surely not of one bath."""
    by_instant: dict[datetime, list[Reading]] = {}
    for each in readings:
        if each.quantity == "bath_temperature" and each.at is not None and in_wrong_unit(each) is None:
            by_instant.setdefault(each.at, []).append(each)
    ordered = (sorted(those, key=lambda each: each.value.value) for those in by_instant.values())
    ends = ((those[0], those[-1]) for those in ordered)
    spread = together(THERMOMETER, THERMOMETER)
    return tuple(
        (cold, warm) for cold, warm in ends if surely_over(warm.value.value - cold.value.value, ONE_BATH, spread)
    )


def bath_beside(readings: Sequence[Reading], supply: Reading) -> Reading | None:
    """Of the bath's readings that nearest in time to one of the supply, the latest where no times are known."""
    baths = [each for each in readings if each.quantity == "bath_temperature"]
    timed = [(abs((each.at - supply.at).total_seconds()), each) for each in baths if each.at and supply.at]
    return min(timed, key=lambda pair: pair[0])[1] if timed else baths[-1] if baths else None


def _beer_is_as_warm(readings: Sequence[Reading], bath: float, supply: float) -> bool:
    """Whether every tap bears out a warm supply over a cold bath: then no glycol comes from the bath."""
    taps = [each.value.value for each in readings if each.quantity == "beer_temperature_at_tap"]
    return supply > bath and bool(taps) and min(taps) > 0.5 * (bath + supply)
