"""The controller: what it is set to against the record, and what it shows against the bath."""

from collections.abc import Iterator

from service.domain.assessment.doubt import ONE_BATH
from service.domain.assessment.evidence import Evidence, a_fact, a_reading, known, worth
from service.domain.assessment.figure import Figure, Uncertain
from service.domain.assessment.finding import Finding
from service.domain.assessment.motors import runs
from service.domain.assessment.operating_state import operating_state
from service.domain.assessment.rule import Rule, act, fine, note
from service.domain.assessment.uncertainty import THERMOMETER, surely_over, surely_under, taken, together
from service.domain.maintenance.catalogue import LICENSED, LOCKOUT
from service.domain.physics.ranges import above
from service.domain.record.visits import Reading

SET_ALIKE, SET_OFF = 0.6, 1.5  # K between set points: rounding of a display; what changes the beer; judged
NOT_HELD = 15.0 / 1.8  # K of the set point over the bath: no unit that is set so cools that far; judged, no source
TOGETHER = 180.0  # s: readings of a bath that is being cooled down are compared only this near to each other
ICE_WATER = (
    "Put the controller's sensor and the thermometer together in stirred ice water: both must show 32 °F (0 °C). See "
    "that the sensor sits in the bath."
)


def _set_point(e: Evidence) -> Iterator[Finding]:
    reading, wanted = e.reading("controller_set_point"), known(e.bath.set_point)
    off = reading.value.value - wanted
    figures: dict[str, Figure] = {"controller_set_point": taken(reading), "set_point": e.bath.set_point or wanted}
    text = f"The controller is set to {e.show_reading(reading)}"
    if abs(off) <= SET_ALIKE:
        yield fine("set_point_as_recorded", f"{text}, as recorded.", **figures)
        return
    text += f"; {e.temperature(wanted)} is on record."
    advice = "Ask who changed it and why. Set it back, or record the new set point."
    if off < 0.0:
        advice += " A colder set point needs stronger glycol: compare the coil with the freezing point first."
    if e.has("bath_temperature") and reading.value.value - e.value("bath_temperature") > NOT_HELD:
        bath = e.show_reading(e.reading("bath_temperature"))
        text = f"{text[:-1]}, and the bath is at {bath}, far under what that would hold."
        advice = f"Read the display again, with its unit: it was misread, or set just now. {advice}"
        yield note("set_point_changed", text, advice=advice, **figures)
        return
    make = act if abs(off) > SET_OFF else note
    yield make("set_point_changed", text, advice=advice, **figures)


def _shown(e: Evidence) -> Iterator[Finding]:
    shown, bath = e.reading("controller_temperature"), e.reading("bath_temperature")
    if not _of_one_time(e, shown, bath):
        return
    spread = together(THERMOMETER, THERMOMETER)
    off = shown.value.value - bath.value.value
    figures: dict[str, Figure] = {
        "controller_temperature": taken(shown),
        "bath_temperature": taken(bath),
        "apart": Uncertain(off, "temperature_difference", spread),
    }
    text = f"The controller shows {e.show_reading(shown)} and the bath reads {e.show_reading(bath)}"
    if surely_over(abs(off), ONE_BATH, spread):
        apart = f"{text}: its sensor or the thermometer is {e.difference(abs(off))} off."
        yield act("controller_disagrees", f"{apart}{_effect(off)}", advice=_advice(e, off), **figures)
    elif above(abs(off), ONE_BATH):
        apart = f"{text}, {e.difference(abs(off))} apart: too close to tell whether one of the two is wrong."
        yield note("controller_disagrees", apart, advice=ICE_WATER, **figures)
    else:
        yield fine("controller_agrees", f"{text}: they agree.", **figures)


def _of_one_time(e: Evidence, one: Reading, other: Reading) -> bool:
    """Whether the bath can hardly have changed between two readings."""
    if one.at is not None and other.at is not None and abs((one.at - other.at).total_seconds()) <= TOGETHER:
        return True
    return not (runs(e, "compressor") and operating_state(e).state in ("pulling_down", "starting"))


def _effect(off: float) -> str:
    """What follows if the sensor is the wrong one."""
    if off > 0.0:
        return " With a sensor that reads warm the unit cools too far."
    return " With a sensor that reads cold the unit stops too early, and the compressor stands without a fault."


def _advice(e: Evidence, off: float) -> str:
    set_point = worth(e.bath.set_point)
    under = set_point is not None and surely_under(e.value("bath_temperature"), set_point - 2.0, THERMOMETER)
    if off > 0.0 and under and operating_state(e).settled:
        return f"Stop the refrigeration before bath or beer freezes. {ICE_WATER}"
    return ICE_WATER


CARE = f"{LOCKOUT} {LICENSED}"
ASKING = frozenset({"warm_pour", "frozen", "alarm", "temperature_controller"})
SET, SHOWN = a_reading("controller_set_point"), a_reading("controller_temperature")

RULES = (
    Rule(
        codes=("set_point_as_recorded", "set_point_changed"),
        needs=(SET, a_fact("bath", "set_point")),
        judge=_set_point,
        shows="whether somebody changed the set point",
        source="the record; common practice, no source",
        caution=CARE,
        asked_by=ASKING,
        weight=0.2,
    ),
    Rule(
        codes=("controller_disagrees", "controller_agrees"),
        needs=(SHOWN, a_reading("bath_temperature")),
        judge=_shown,
        shows="whether the controller's sensor is right",
        source="One stirred bath has one temperature; thermocouples ASTM E230, 1.1 °C; margin: common practice, no "
        "source",
        caution=CARE,
        asked_by=ASKING,
        weight=0.2,
    ),
)
