"""What the unit is doing at one moment of a visit, with its probability.

Each thing that was measured multiplies the prior probability of each state by how likely it is in that state (Bayes'
rule, the things taken as independent). Priors and likelihoods are judged, common practice, no source, but for what
their comments name. What was not measured says nothing.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from service.domain.assessment.air import air_entering
from service.domain.assessment.evidence import PUMPS, Evidence
from service.domain.assessment.motors import currents_of, draws_current, nameplate, starts_at
from service.domain.assessment.refrigerant_of import condensing, evaporating, refrigerant_of
from service.domain.physics.ranges import OutOfRange
from service.domain.record.visits import Reading

STATES = ("off", "idle", "starting", "pulling_down", "holding", "satisfied", "short_cycling")
PRIOR = (0.04, 0.06, 0.05, 0.25, 0.33, 0.22, 0.05)
RUNS = (0.0, 0.0, 1.0, 1.0, 1.0, 0.0, 0.5)  # whether the compressor runs in that state
UNKNOWN = "unknown"
HOLDING, SATISFIED = STATES.index("holding"), STATES.index("satisfied")
CONTRARY = 0.1  # of the likelihood at rest: less speaks strongly against running
CERTAIN = 0.5  # the probability below which the state is called unknown
FLOOR = 0.01  # nothing is ever excluded by one reading

SHORTEST_CYCLE = 900.0  # s: two changes between running and rest within it are short-cycling
EQUAL = 70e3  # Pa, 10 psi: head and suction of a unit at rest on a capillary meet within 7 to 10 min (maker's manual)
APART = 170e3  # Pa, 25 psi: the least that a running unit keeps in cold air, calculated with CoolProp 8
AT_BATH, UNDER_BATH = 3.0, 5.0  # K: evaporating at the bath's temperature at rest, under it while running
HEAT_GIVEN, NO_HEAT = 3.0, 1.2  # K of air rise over the condenser
MOVES = 0.85  # K: least change that two readings of one thermometer can show (2 sqrt(2) 0.3 K)
THERMOMETER = 0.6  # K
DEAD = 20.0  # V: a meter shows a few volts on a dead conductor beside a live one


@dataclass(frozen=True, slots=True)
class OperatingState:
    """The likeliest state, or unknown; its probability; what it follows from; probability that the compressor runs.

    `contrary` is whether one of the things measured speaks strongly for rest: they may be minutes apart.
    """

    state: str
    probability: float
    evidence: tuple[str, ...]
    running: float = 0.69
    contrary: bool = False

    @property
    def at_rest(self) -> bool:
        """Whether the compressor more likely stands than runs."""
        return self.running < 0.5

    @property
    def settled(self) -> bool:
        """Whether it runs and has run long enough for figures of steady running."""
        return not self.at_rest and not self.contrary and self.state not in ("starting", "short_cycling")


class Clue(NamedTuple):
    """One thing that was measured, as text, and its likelihood in each of STATES."""

    text: str
    likelihood: tuple[float, ...]


@lru_cache(maxsize=32)
def operating_state(evidence: Evidence) -> OperatingState:
    """The operating state at one moment, unknown where no state is more likely than all others together."""
    clues = [clue for look in LOOKS for clue in look(evidence)]
    weights = list(PRIOR)
    for clue in clues:
        weights = [weight * max(like, FLOOR) for weight, like in zip(weights, clue.likelihood, strict=True)]
    total = sum(weights)
    probabilities = [weight / total for weight in weights]
    best = max(probabilities)
    state = STATES[probabilities.index(best)] if clues and best > CERTAIN else UNKNOWN
    running = sum(chance * runs for chance, runs in zip(probabilities, RUNS, strict=True))
    contrary = any(clue.likelihood[HOLDING] < CONTRARY * clue.likelihood[SATISFIED] for clue in clues)
    return OperatingState(state, best, tuple(clue.text for clue in clues), running, contrary)


def _compressor(e: Evidence) -> Iterator[Clue]:
    reading = next(iter(currents_of(e, "compressor")), None)
    if reading is None:
        return
    text = f"compressor {e.show_reading(reading)}"
    if _changes(e, reading) >= 2:
        yield Clue(f"{text}, on and off within {SHORTEST_CYCLE / 60:.0f} min", (0.01, 0.05, 0.1, 0.01, 0.02, 0.02, 1.0))
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


def _display(e: Evidence) -> Iterator[Clue]:
    if "display_dark" in e.seen and e.moment != "as_left":
        yield Clue("the controller's display is dark", (1.0, 0.5, 0.02, 0.02, 0.02, 0.02, 0.02))


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


def _condenser(e: Evidence) -> Iterator[Clue]:
    air, hot = air_entering(e), _saturated(e, "discharge_pressure", condensing)
    if air is None or hot is None:
        return
    split = hot - air
    text = f"condensing {_apart(e, split, 'over', 'under')} the air"
    if split < AT_BATH:
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
    if not (e.has("condenser_air_in_temperature") and e.has("condenser_air_out_temperature")):
        return
    rise = e.value("condenser_air_out_temperature") - e.value("condenser_air_in_temperature")
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
    if bath > start + 2.0 * THERMOMETER:
        yield Clue(text, (0.7, 0.9, 0.7, 1.0, 0.05, 0.05, 0.6))
    elif bath > start - THERMOMETER:
        yield Clue(text, (0.2, 0.3, 0.5, 0.3, 0.7, 0.5, 0.4))
    else:
        yield Clue(text, (0.1, 0.07, 0.2, 0.02, 0.9, 1.0, 0.3))


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


LOOKS: tuple[Callable[[Evidence], Iterator[Clue]], ...] = (
    _supply,
    _display,
    _compressor,
    _fan,
    _others_run,
    _pressures,
    _evaporator,
    _condenser,
    _liquid_line,
    _air_rise,
    _bath,
    _trend,
)
