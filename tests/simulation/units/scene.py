"""One visit as it happens: a unit, its situation, what went before, and the truth while somebody is there."""

from copy import deepcopy
from dataclasses import dataclass, replace
from math import exp
from random import Random

from tests.simulation.units import readable
from tests.simulation.units.faults import BY_CODE, FAULTS, Fault, together
from tests.simulation.units.plant import STEP, Moment, Plant
from tests.simulation.units.situation import Situation, draw_situation
from tests.simulation.units.text import celsius
from tests.simulation.units.unit import Unit

BEFORE, STAY = 2.0 * 3600.0, 95.0 * 60.0  # s
HEALTHY_STATES = ("off_without_power", "powered_idle", "starting", "pulling_down", "holding", "satisfied")
STARTING = 300.0  # s
NEAR = 1.1  # K over the band that still counts as holding
FELT = 4.0  # degC of beer that somebody calls about
LOADED = 0.92  # of the capacity, above which a sound unit would not hold


@dataclass(frozen=True, slots=True)
class Scene:
    """What happens: the plant as found, and from `mended` (s after arrival) on the plant as left, if it was mended."""

    unit: Unit
    faults: tuple[Fault, ...]
    severities: tuple[float, ...]
    found: Plant
    left: Plant
    mended: float | None
    moments: tuple[Moment, ...]  # from arrival on
    complaint: str | None

    def at(self, seconds: float) -> tuple[Plant, Moment]:
        """The plant and its moment, that long after arrival."""
        n = min(int(seconds / STEP), len(self.moments) - 1)
        moment = self.moments[n]
        plant = self.left if self.mended is not None and seconds >= self.mended else self.found
        return plant, replace(moment, since=moment.since + seconds - n * STEP)

    def state(self, seconds: float) -> str:
        """The operating state at an instant."""
        return state_of(*self.at(seconds))


def state_of(plant: Plant, moment: Moment) -> str:
    """The operating state, by the truth."""
    now = plant.now
    if not now.powered:
        return "off_without_power"
    if plant.trips and not now.controller_dark:
        return "short_cycling" if now.compressor_starts else "called_not_running"
    if not moment.runs:
        calling = moment.bath + now.sensor_error > now.cut_in
        return "powered_idle" if now.refrigeration_off or now.controller_dark or calling else "satisfied"
    if moment.since < STARTING:
        return "starting"
    return "pulling_down" if moment.bath + now.sensor_error > now.cut_in + NEAR else "holding"


def healthy_scene(rng: Random, unit: Unit, state: str) -> Scene:
    """A sound unit found in a state, on any day of the year."""
    now = draw_situation(rng, unit)
    if state == "off_without_power":
        now.supply = "switch"
    now.refrigeration_off = state == "powered_idle"
    _carried(unit, now)
    plant = Plant(unit, now)
    if state in ("off_without_power", "powered_idle"):
        moments = plant.run(Moment(_drifted(plant, rng), False, rng.uniform(0.3, 20) * 3600.0, 0.0), STAY, rng)
    else:
        moments = _found_in(rng, plant, state)
    return Scene(unit, (), (), plant, plant, None, tuple(moments), None)


def faulty_scene(rng: Random, unit: Unit, codes: tuple[str, ...] = ()) -> Scene:
    """A unit with one fault, or two in a quarter of the cases; mended during the visit in a third."""
    faults = tuple(BY_CODE[code] for code in codes) or _drawn(rng, unit)
    now = draw_situation(rng, unit)
    _carried(unit, now)
    sound = deepcopy(now)
    severities = tuple(fault.plant(now, unit, rng) for fault in faults)
    plant = Plant(unit, now)
    dead = not now.powered or now.controller_dark or not now.compressor_starts
    if dead:
        before = [Moment(_drifted(plant, rng), False, rng.uniform(0.3, 20) * 3600.0, 0.0)]
    else:
        warm = rng.random() < 0.12
        start = celsius(rng.uniform(45, 75)) if warm else rng.uniform(now.cut_out, now.cut_in)
        before = plant.run(Moment(start, True, 0.0, 0.0), 1500.0 if warm else 4.0 * 3600.0, rng)
    mended = rng.uniform(34.0, 45.0) * 60.0 if rng.random() < 0.33 else None
    moments = plant.run(before[-1], STAY if mended is None else mended, rng)
    left = plant
    if mended is not None:
        sound.ambient = now.ambient
        left = Plant(unit, sound)
        moments = [*moments[:-1], *left.run(moments[-1], STAY - mended, rng)]
    complaint = rng.choice(faults).symptom
    if complaint == "warm_pour" and max(readable.beer(plant, moments[0]).values()) < FELT:
        complaint = None
    return Scene(unit, faults, severities, plant, left, mended, tuple(moments), complaint)


def _drawn(rng: Random, unit: Unit) -> tuple[Fault, ...]:
    possible = [fault for fault in FAULTS if fault.possible(unit)]
    first = rng.choices(possible, [fault.weight for fault in possible])[0]
    others = [fault for fault in possible if together(first, fault)]
    if rng.random() < 0.25 and others:
        return first, rng.choice(others)
    return (first,)


def _carried(unit: Unit, now: Situation) -> None:
    """Pours, then rooms, that the unit can carry on that day: a sound unit holds its bath."""
    plant = Plant(unit, now)
    carried = LOADED * plant.cycle(round(now.cut_out, 2)).cooling
    while plant.load(now.cut_out) > carried and (now.pints > 0.0 or now.room > -15.0):
        if now.pints > 0.0:
            now.pints = max(now.pints - 20.0, 0.0)
        else:
            now.room -= 1.5


def _drifted(plant: Plant, rng: Random) -> float:
    """The bath after hours without refrigeration."""
    now = plant.now
    slope = plant.load(0.0) - plant.load(1.0)
    end = plant.load(0.0) / slope
    hours = rng.choice((rng.uniform(0.3, 3.0), rng.uniform(3.0, 24.0)))
    start = rng.uniform(now.cut_out, now.cut_in)
    return end + (start - end) * exp(-hours * 3600.0 * slope / plant.capacity)


def _found_in(rng: Random, plant: Plant, state: str) -> list[Moment]:
    """The moments from arrival on, so that the readings of the circuit fall into that state, or near to it."""
    now = plant.now
    gauges = 16.0 * 60.0
    if state in ("pulling_down", "starting") and rng.random() < (1.0 if state == "pulling_down" else 0.5):
        first = Moment(celsius(rng.uniform(42, 82)), True, 0.0, 0.0)
        moments = plant.run(first, gauges + 2400.0 + STAY, rng)
        lead = rng.uniform(-280.0, -30.0) if state == "starting" else rng.uniform(STARTING, 2400.0)
    else:
        first = Moment(rng.uniform(now.cut_out, now.cut_in), rng.random() < 0.6, rng.uniform(0, 600), 0.0)
        moments = plant.run(first, BEFORE + STAY + gauges, rng)
        lead = 0.0
    wanted = [
        n
        for n, moment in enumerate(moments)
        if state_of(plant, moment) == state and gauges / STEP <= n <= len(moments) - (STAY - gauges) / STEP
    ]
    if state == "pulling_down":
        wanted = [n for n in wanted if n * STEP <= gauges + lead] or wanted
    first_index = int(rng.choice(wanted or range(int(gauges / STEP), int((gauges + BEFORE) / STEP))) - gauges / STEP)
    return moments[first_index : first_index + int(STAY / STEP) + 1]
