"""Temperatures that were probably meant otherwise: in °C, or with other digits, beside which the others are usual."""

from collections.abc import Callable, Iterator, Sequence

from service.domain.record.visits import Reading

DEGREES = 273.15
AIR_IN, AROUND, BATH = "condenser_air_in_temperature", "ambient_temperature", "bath_temperature"
# What a running condenser holds warmer than its air, and how far at most [K]: common practice, no source
HOT = {
    "liquid_line_temperature": 40.0,
    "condenser_air_out_temperature": 40.0,
    "condenser_bend_temperature": 60.0,
    "discharge_line_temperature": 110.0,
}
COLDER = 8.0  # K, 14 °F under what it can be: more than thermometers err; judged, no source
AGREES = 5.0  # K, 9 °F: what two places of one air may differ; judged, no source
UNDER_BATH = 6.0  # K: with `COLDER` 25 °F, and no suction line is that much colder than its bath; judged, no source
OVER_BATH = 12.0  # K: nor warmer than this in a running unit


def as_celsius(reading: Reading) -> float:
    """The temperature, had its number been °C [K]."""
    return reading.value.value * 1.8 - 459.67 + DEGREES


def beside(readings: Sequence[Reading]) -> Iterator[Reading]:
    """The readings of one moment that were entered in °F and fit the others in °C alone."""
    latest = {each.quantity: each for each in readings if each.value.dimension == "temperature"}
    typed = {quantity: each for quantity, each in latest.items() if each.value.entered.endswith("F")}
    kelvin = {quantity: each.value.value for quantity, each in latest.items()}
    for quantity, reading in typed.items():
        if any(_fits(kelvin[quantity], as_celsius(reading), *limits) for limits in _limits(quantity, kelvin)):
            yield reading


def _fits(kelvin: float, meant: float, low: float, high: float) -> bool:
    """Whether it is far colder than it can be, and not in °C."""
    return kelvin < low - COLDER and low <= meant <= high


def _limits(quantity: str, kelvin: dict[str, float]) -> Iterator[tuple[float, float]]:
    """Between what a temperature lies, by those of the others [K]."""
    air = kelvin.get(AIR_IN, kelvin.get(AROUND))
    if quantity in HOT and air is not None:
        yield air, air + HOT[quantity]
    other = {AIR_IN: AROUND, AROUND: AIR_IN}.get(quantity)
    if other in kelvin:
        yield kelvin[other] - AGREES, kelvin[other] + AGREES
    if quantity == "suction_line_temperature" and BATH in kelvin:
        yield kelvin[BATH] - UNDER_BATH, kelvin[BATH] + OVER_BATH


def meant(reading: Reading, other: float) -> str:
    """How a temperature would agree with another of its place [K], had it been read or written otherwise.

    "in °C", "with its digits exchanged (28)"; empty where no usual slip explains it.
    """
    number, _, unit = reading.value.entered.partition(" ")
    if unit not in KELVIN:
        return ""
    return next((how for how, kelvin in _slips(number, unit) if abs(kelvin - other) <= AGREES), "")


KELVIN: dict[str, Callable[[float], float]] = {
    "degF": lambda degrees: (degrees - 32.0) / 1.8 + DEGREES,
    "degC": lambda degrees: degrees + DEGREES,
}
OTHER_UNIT = {"degF": ("degC", "°C"), "degC": ("degF", "°F")}


def _slips(number: str, unit: str) -> Iterator[tuple[str, float]]:
    """The usual slips of a number of degrees: how it was meant, and what that is [K]."""
    value, kelvin = float(number), KELVIN[unit]
    other, name = OTHER_UNIT[unit]
    yield f"if it was read in {name}", KELVIN[other](value)
    whole = number.partition(".")[0]
    if len(whole) == 2 and whole.isdigit():
        yield f"with its digits exchanged ({whole[::-1]})", kelvin(float(whole[::-1]))
    for factor in (10.0, 0.1):
        yield f"with its decimal point moved ({value * factor:g})", kelvin(value * factor)
