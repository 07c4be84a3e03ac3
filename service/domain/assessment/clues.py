"""What each thing measured or seen says of the operating state: its likelihood in each of the states.

In order: off, idle, starting, pulling down, holding, satisfied, short-cycling. Judged, common practice, no source, but
for what the comments name.
"""

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import NamedTuple

from service.domain.assessment.air import air_entering, air_rise_of
from service.domain.assessment.evidence import PUMPS, Evidence
from service.domain.assessment.motors import currents_of, draws_current, locked, nameplate, runs, stands, starts_at
from service.domain.assessment.refrigerant_of import condensing, evaporating, refrigerant_of
from service.domain.assessment.starting import APART, EQUAL, just_started
from service.domain.physics.ranges import OutOfRange
from service.domain.record.visits import Reading

SHORTEST_CYCLE = 900.0  # s: two changes between running and rest within it are short-cycling
AT_BATH, UNDER_BATH = 3.0, 5.0  # K: evaporating at the bath's temperature at rest, under it while running
HEAT_GIVEN, NO_HEAT = 3.0, 1.2  # K of air rise over the condenser
MOVES = 0.85  # K: least change that two readings of one thermometer can show (2 sqrt(2) 0.3 K)
THERMOMETER = 0.6  # K
FAR_OVER = 10.0  # K of a bath over where its controller starts
SUPPLIED = ("power_switch", "temperature_controller")
FAR_TOO_WARM = 285.0  # K of beer: nothing cools, or one tap alone is wrong
LIVE = 50.0  # V; common practice, no source
DEAD = 20.0  # V: a meter shows a few volts on a dead conductor beside a live one


class Clue(NamedTuple):
    """One thing that was measured, as text, and its likelihood in each of STATES."""

    text: str
    likelihood: tuple[float, ...]


def _compressor(e: Evidence) -> Iterator[Clue]:
    reading = next(iter(currents_of(e, "compressor")), None)
    if reading is None:
        return
    text = f"compressor {e.show_reading(reading)}"
    if _changes(e, reading) >= 2:
        yield Clue(f"{text}, on and off within {SHORTEST_CYCLE / 60:.0f} min", (0.01, 0.05, 0.1, 0.01, 0.02, 0.02, 1.0))
    elif locked(e, reading):
        # A start draws this for a second at most; one that does not start, in bursts for as long as it is called for.
        yield Clue(f"{text}, its rotor locked", (0.01, 1.0, 0.15, 0.01, 0.01, 0.01, 0.5))
    elif draws_current(e, reading):
        yield Clue(text, (0.01, 0.02, 0.9, 1.0, 0.97, 0.01, 0.5))
    else:
        yield Clue(text, (1.0, 1.0, 0.05, 0.01, 0.03, 1.0, 0.5))


def _changes(e: Evidence, reading: Reading) -> int:
    """How often the compressor's timed currents change between running and rest, at most 15 minutes apart."""
    timed = [each for each in e.readings if each.quantity == "current" and each.component == reading.component]
    runs = [(each.at, draws_current(e, each)) for each in timed if each.at is not None]
    return sum(
        running != ran and (at - before).total_seconds() <= SHORTEST_CYCLE
        for (before, ran), (at, running) in pairwise(runs)
    )


def _fan(e: Evidence) -> Iterator[Clue]:
    reading = next(iter(currents_of(e, "condenser_fan")), None)
    if reading is None:
        return
    amperes, rated = reading.value.value, nameplate(e, reading)
    # A fan of 0.5 A is within the error of a clamp meter: without its nameplate a low reading shows little.
    turns = amperes >= 0.3 * rated if rated else amperes > 0.2
    like = (0.01, 0.1, 1.0, 1.0, 0.97, 0.08, 0.6) if turns else (1.0, 0.95, 0.12, 0.1, 0.12, 0.95, 0.4)
    yield Clue(f"condenser fan {e.show_reading(reading)}", like)


def _supply(e: Evidence) -> Iterator[Clue]:
    if not e.has("supply_voltage"):
        return
    reading = min(e.each("supply_voltage"), key=lambda each: each.value.value)
    text = f"supply {e.show_reading(reading)}"
    if reading.value.value < DEAD:
        yield Clue(text, (1.0, 0.03, 0.01, 0.01, 0.01, 0.02, 0.01))
    else:
        yield Clue(text, (0.2, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0))


def _behind(e: Evidence) -> Iterator[Clue]:
    """Voltage behind the power switch or at the controller."""
    reached = [*e.each("voltage_at"), *e.each("voltage_behind")]
    reading = next((each for each in reached if e.kind_at(each.component) in SUPPLIED), None)
    if reading is None:
        return
    text = f"{e.show_reading(reading)} at {reading.component}"
    if reading.value.value < DEAD:
        yield Clue(text, (1.0, 0.03, 0.01, 0.01, 0.01, 0.02, 0.01))
    else:
        yield Clue(text, (0.03, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0))


def _display(e: Evidence) -> Iterator[Clue]:
    """A display that shows a temperature has power."""
    if e.has("controller_temperature"):
        shown = e.show_reading(e.reading("controller_temperature"))
        yield Clue(f"controller showing {shown}", (0.03, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0))


def _contactor(e: Evidence) -> Iterator[Clue]:
    """No voltage behind a contactor that has some before it: it is open, so the compressor stands."""
    for part in e.parts.values():
        before, behind = (e.reading_at(name, part.code) for name in ("voltage_before", "voltage_behind"))
        live = before is not None and before.value.value >= LIVE
        if part.kind == "contactor" and live and behind is not None and behind.value.value < DEAD:
            text = f"{e.show_reading(behind)} behind {part.code}"
            yield Clue(text, (0.03, 1.0, 0.03, 0.02, 0.03, 1.0, 0.5))


def _others_run(e: Evidence) -> Iterator[Clue]:
    """Another motor draws current, so there is power; all of two or more stand, so there may be none."""
    others = currents_of(e, *PUMPS, "agitator")
    if not others:
        return
    text = f"pump {e.show_reading(others[0])}"
    if any(draws_current(e, each) for each in others):
        yield Clue(text, (0.01, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0))
    else:
        yield Clue(text, (1.0, 0.15, 0.05, 0.04, 0.04, 0.05, 0.05))


# What is seen and heard, and its likelihood in each of STATES. One note in thirty is wrong: common practice, no source.
SIGNS = {
    "display_dark": ("display dark", (0.97, 0.3, 0.03, 0.03, 0.03, 0.03, 0.03)),
    "compressor_running": ("compressor running", (0.03, 0.04, 0.95, 0.97, 0.93, 0.05, 0.5)),
    "calling_for_cooling": ("controller calling for cooling", (0.03, 0.5, 0.95, 0.97, 0.93, 0.06, 0.85)),
    "fan_turning": ("condenser fan turning", (0.03, 0.15, 0.93, 0.93, 0.9, 0.1, 0.6)),
    "pump_running": ("pump running", (0.03, 0.85, 0.95, 0.95, 0.95, 0.95, 0.95)),
}


def _signs(e: Evidence) -> Iterator[Clue]:
    """What was looked for as found, there or not."""
    if e.moment == "as_left":
        return
    for code, (text, likelihood) in SIGNS.items():
        if code in e.seen:
            yield Clue(text, likelihood)
        elif code in e.absent:
            yield Clue(f"not {text}", tuple(1.0 - each for each in likelihood))


def _pressures(e: Evidence) -> Iterator[Clue]:
    if not (e.has("suction_pressure") and e.has("discharge_pressure")):
        return
    apart = e.value("discharge_pressure") - e.value("suction_pressure")
    text = f"head {e.show(apart, 'pressure')} over suction"
    if apart < EQUAL:
        yield Clue(text, (0.8, 0.8, 0.3, 0.01, 0.01, 0.75, 0.15))
    elif apart > APART:
        yield Clue(text, (0.05, 0.08, 0.5, 1.0, 1.0, 0.12, 0.8))
    else:
        yield Clue(text, (0.15, 0.15, 0.5, 0.1, 0.15, 0.2, 0.3))


def equal_while_running(e: Evidence) -> float | None:
    """How far apart the almost equal pressures of a compressor are that draws its current [Pa]; None where not so."""
    if not (e.has("discharge_pressure") and e.has("suction_pressure") and runs(e, "compressor")):
        return None
    if any(locked(e, each) for each in currents_of(e, "compressor")):
        return None  # it does not turn
    apart = e.value("discharge_pressure") - e.value("suction_pressure")
    return apart if apart < EQUAL else None


def _saturated(e: Evidence, pressure: str, saturation: Callable[[Evidence], float]) -> float | None:
    """The saturation temperature at a pressure [K]; None where it was not read or lies outside the curve."""
    if not e.has(pressure) or refrigerant_of(e) is None:
        return None
    try:
        return saturation(e)
    except OutOfRange:
        return None


def _apart(e: Evidence, difference: float, one_way: str, other_way: str) -> str:
    return f"{e.difference(abs(difference))} {one_way if difference >= 0.0 else other_way}"


def _evaporator(e: Evidence) -> Iterator[Clue]:
    cold = _saturated(e, "suction_pressure", evaporating)
    if cold is None or not e.has("bath_temperature"):
        return
    under = e.value("bath_temperature") - cold
    text = f"evaporating {_apart(e, under, 'under', 'over')} the bath"
    if under < AT_BATH:
        yield Clue(text, (0.8, 0.8, 0.2, 0.03, 0.05, 0.8, 0.2))
    elif under > UNDER_BATH:
        yield Clue(text, (0.1, 0.1, 0.6, 0.95, 0.92, 0.1, 0.7))


def _low_side_runs(e: Evidence) -> bool:
    """Whether the same gauges show an evaporator far under its bath, and the compressor draws its current."""
    cold = _saturated(e, "suction_pressure", evaporating)
    if cold is None or not e.has("bath_temperature") or not runs(e, "compressor"):
        return False
    return e.value("bath_temperature") - cold > 2.0 * UNDER_BATH


def _condenser(e: Evidence) -> Iterator[Clue]:
    air, hot = air_entering(e), _saturated(e, "discharge_pressure", condensing)
    if air is None or hot is None:
        return
    split = hot - air
    text = f"condensing {_apart(e, split, 'over', 'under')} the air"
    if split < AT_BATH and _low_side_runs(e):
        yield Clue(text, (0.4, 0.4, 0.4, 0.3, 0.2, 0.4, 0.4))  # little heat, as of a unit short of charge
    elif split < AT_BATH:
        yield Clue(text, (0.9, 0.9, 0.3, 0.02, 0.04, 0.9, 0.3))
    elif split > UNDER_BATH:
        yield Clue(text, (0.1, 0.1, 0.6, 0.95, 0.93, 0.1, 0.7))


def _liquid_line(e: Evidence) -> Iterator[Clue]:
    """At rest the liquid line takes the air's temperature, over that at which the colder circuit is saturated."""
    hot = _saturated(e, "discharge_pressure", condensing)
    if hot is None or not e.has("liquid_line_temperature"):
        return
    under = hot - e.value("liquid_line_temperature")
    text = f"liquid line {_apart(e, under, 'under', 'over')} condensing"
    if under < -AT_BATH:
        yield Clue(text, (0.8, 0.8, 0.4, 0.02, 0.03, 0.8, 0.4))
    elif under > 0.5:
        yield Clue(text, (0.1, 0.1, 0.5, 0.9, 0.9, 0.1, 0.6))


def _air_rise(e: Evidence) -> Iterator[Clue]:
    if (rise := air_rise_of(e)) is None:
        return
    text = f"air rise {e.difference(rise)}"
    if rise > HEAT_GIVEN:
        yield Clue(text, (0.02, 0.03, 0.4, 1.0, 0.95, 0.05, 0.7))
    elif rise < NO_HEAT:
        yield Clue(text, (1.0, 1.0, 0.6, 0.1, 0.12, 1.0, 0.4))


def _bath(e: Evidence) -> Iterator[Clue]:
    """Where the bath stands between the controller's stop and start."""
    if not e.has("bath_temperature"):
        return
    bath, start = e.value("bath_temperature"), starts_at(e)
    text = f"bath {e.show_reading(e.reading('bath_temperature'))}"
    if bath > start + FAR_OVER:
        yield Clue(text, (1.0, 1.0, 0.4, 0.5, 0.02, 0.02, 0.4))  # one that stands stays there, one that runs passes
    elif bath > start + 2.0 * THERMOMETER:
        yield Clue(text, (0.9, 0.9, 0.7, 1.0, 0.05, 0.05, 0.6))
    elif bath > start - THERMOMETER:
        yield Clue(text, (0.2, 0.3, 0.5, 0.3, 0.7, 0.5, 0.4))
    else:
        yield Clue(text, (0.1, 0.07, 0.2, 0.02, 0.9, 1.0, 0.3))


def _beer(e: Evidence) -> Iterator[Clue]:
    taps = [each.value.value for each in e.each("beer_temperature_at_tap")]
    explained = stands(e, *PUMPS) and "display_dark" not in e.seen  # a pump that stands by itself warms them too
    if taps and min(taps) > FAR_TOO_WARM and not explained:
        yield Clue(f"beer at {e.temperature(min(taps))} or more", (1.0, 0.6, 0.2, 0.3, 0.08, 0.08, 0.2))


def _trend(e: Evidence) -> Iterator[Clue]:
    timed = [each for each in e.readings if each.quantity == "bath_temperature" and each.at is not None]
    if len(timed) < 2:
        return
    first, last = timed[0], timed[-1]
    change = last.value.value - first.value.value
    text = f"bath {e.temperature(first.value.value)} to {e.temperature(last.value.value)}"
    if change < -MOVES:
        yield Clue(f"{text}, falling", (0.02, 0.02, 0.4, 1.0, 0.4, 0.03, 0.4))
    elif change > MOVES:
        yield Clue(f"{text}, rising", (1.0, 1.0, 0.3, 0.05, 0.1, 0.4, 0.3))
    else:
        yield Clue(f"{text}, level", (0.5, 0.5, 0.6, 0.15, 0.7, 0.8, 0.6))


def _start(e: Evidence) -> Iterator[Clue]:
    """A compressor that stood minutes ago has not run long enough for any state of steady running."""
    if (start := just_started(e)) is not None:
        yield Clue(f"compressor at rest {start.ago} before", (0.02, 0.02, 1.0, 0.01, 0.01, 0.02, 0.3))


OF_MOTORS: tuple[Callable[[Evidence], Iterator[Clue]], ...] = (
    _start,
    _supply,
    _behind,
    _display,
    _contactor,
    _signs,
    _compressor,
    _fan,
    _others_run,
)
LOOKS = (*OF_MOTORS, _pressures, _evaporator, _condenser, _liquid_line, _air_rise, _bath, _beer, _trend)
