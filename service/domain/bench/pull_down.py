"""Pull-down calculations: rate, heat, final temperature, time to set point, and verdict."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from service.domain.bench.fields import Calculation, Outcome, count, described, measured
from service.domain.bench.figures import SHARE, figure, figure_if, figure_of
from service.domain.bench.strengths import ASKED_TARGET, mass_fraction
from service.domain.errors import Fault, Invalid
from service.domain.physics.bath.heat import bath_heat_capacity, cooling_power, heat_removed
from service.domain.physics.bath.pull_down import PullDown, final_temperature, fit_pull_down, time_to
from service.domain.physics.bath.pull_down_verdict import (
    FULL_POWER_BATH,
    Judgement,
    judge_pull_down,
    wait_before_measuring,
)
from service.domain.physics.glycol import properties as glycol
from service.domain.physics.refrigeration.capacity import capacity_share
from service.domain.quantities import Quantity

BATH = ("temperature", "-40 degC", "60 degC")
SPREAD = ("temperature_difference", "0.02 deltaF", "9 deltaF")
ADVICE = {
    "at_set_point": "The bath is at its set point.",
    "short_and_unchanged": "Too early to judge: wait and read again.",
    "no_noticeable_change": "Not cooling: look for the cause, do not wait.",
    "warming": "The bath is warming: look for the cause, do not wait.",
    "ends_above_set_point": "It will level off above its set point: check load, condenser, charge and setting.",
}
BY_SPEED = {
    ("share_of_rating", "recovering"): "It is cooling as its rating allows.",
    ("share_of_rating", "slow"): "It is cooling less than its rating allows: check condenser, currents and load.",
    ("trade_rate", "recovering"): "It is cooling about as fast as such units do.",
    ("trade_rate", "slow"): "It is cooling slower than such units do: check condenser, currents and load.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BathReading:
    """A bath temperature and its time."""

    after: Quantity = field(
        metadata=measured("time since the first reading, or since any start", ("time", "0 s", "7 d"))
    )
    temperature: Quantity = field(metadata=measured("bath temperature", BATH))


@dataclass(frozen=True, slots=True, kw_only=True)
class PullDownInputs:
    """Timed readings, and facts about bath and unit."""

    readings: tuple[BathReading, ...] = field(metadata=count("readings, in any order; no two of one time", 2, 100))
    set_point: Quantity = field(metadata=measured("set point of the controller", BATH, default="28 degF"))
    differential: Quantity = field(
        metadata=measured(
            "difference between stop and start", ("temperature_difference", "0 deltaF", "36 deltaF"), default="4 deltaF"
        )
    )
    thermometer: Quantity = field(
        metadata=measured("standard uncertainty of the thermometer", SPREAD, default="0.5 deltaF")
    )
    volume: Quantity | None = field(
        default=None, metadata=measured("glycol in bath and loop", ("volume", "0.1 L", "10 m3"))
    )
    strength: Quantity = field(metadata=ASKED_TARGET)
    metal: Quantity = field(metadata=measured("mass of tank and coil", ("mass", "0 kg", "10000 kg"), default="0 kg"))
    load: Quantity = field(
        metadata=measured("heat load during the readings", ("power", "0 W", "100 kW"), default="0 W")
    )
    rated_cooling: Quantity | None = field(
        default=None, metadata=measured("rated cooling of the unit", ("power", "1 W", "1000 kW"))
    )
    rated_bath: Quantity = field(
        metadata=measured("bath temperature of the rating", ("temperature", "-15 degC", "60 degC"), default="28 degF")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PullDownResults:
    """What follows from the readings; null where readings, volume or rating do not give it."""

    verdict: str = field(metadata=described("recovering, slow, not_cooling or too_early"))
    because: str = field(metadata=described("the rule that decided"))
    advice: str = field(metadata=described("the verdict as a sentence"))
    wait: Quantity = field(metadata=described("time until the next useful reading"))
    rate: Quantity = field(metadata=described("cooling rate from the first reading to the last"))
    rate_uncertainty: Quantity = field(metadata=described("standard uncertainty of the rate"))
    final_temperature: Quantity | None = field(
        metadata=described("where it will level off; null while the readings show no bend")
    )
    final_uncertainty: Quantity | None = field(metadata=described("standard uncertainty of it"))
    time_to_set_point: Quantity | None = field(
        metadata=described("time after the last reading; null: never at this rate")
    )
    time_uncertainty: Quantity | None = field(metadata=described("standard uncertainty of it"))
    heat_removed: Quantity | None = field(metadata=described("heat removed from glycol and metal"))
    cooling_power: Quantity | None = field(metadata=described("mean cooling power, including the load"))
    share_of_rating: Quantity | None = field(metadata=described("share of the rated cooling at this bath temperature"))


def calculate_pull_down(inputs: PullDownInputs) -> Outcome:
    """Evaluate a pull-down."""
    readings = _in_order(inputs.readings)
    temperatures = [reading.temperature.value for reading in readings]
    fit = fit_pull_down([reading.after.value for reading in readings], temperatures, inputs.thermometer.value)
    heat, power = _heat(inputs, fit)
    share = _share(inputs, power, (temperatures[0] + temperatures[-1]) / 2.0)
    set_point = inputs.set_point.value
    worth = capacity_share(None, rated_bath=FULL_POWER_BATH, bath=(fit.start + fit.last) / 2.0)
    judged = judge_pull_down(
        fit, set_point=set_point, share=share, differential=inputs.differential.value, worth=min(worth, 1.0)
    )
    final, until = final_temperature(fit), time_to(fit, set_point)
    return Outcome(
        results=PullDownResults(
            verdict=str(judged.verdict),
            because=str(judged.because),
            advice=_advice(judged),
            wait=figure(wait_before_measuring(fit, judged, set_point=set_point), "time"),
            rate=figure(fit.mean_rate.value, "cooling_rate"),
            rate_uncertainty=figure(fit.mean_rate.uncertainty, "cooling_rate"),
            final_temperature=figure_of(final, "value", "temperature"),
            final_uncertainty=figure_of(final, "uncertainty", "temperature_difference"),
            time_to_set_point=figure_if(until.value, "time"),
            time_uncertainty=figure_if(until.uncertainty, "time"),
            heat_removed=figure_if(heat, "heat"),
            cooling_power=figure_if(power, "heat_flow"),
            share_of_rating=figure_if(share, SHARE),
        ),
        notes=tuple(_notes(inputs, fit)),
    )


def _in_order(readings: tuple[BathReading, ...]) -> list[BathReading]:
    """The readings in order of time; Invalid where two have one time, or all lie too close or too far apart."""
    places = sorted(range(len(readings)), key=lambda place: readings[place].after.value)
    ordered = [readings[place] for place in places]
    faults = [
        Fault(f"readings.{places[number]}.after", later.after.entered, "is the time of another reading")
        for number, (earlier, later) in enumerate(pairwise(ordered), 1)
        if later.after.value <= earlier.after.value
    ]
    if not faults and not 1.0 <= ordered[-1].after.value - ordered[0].after.value <= 604800.0:
        last, entered = f"readings.{places[-1]}.after", ordered[-1].after.entered
        faults = [Fault(last, entered, "must be from 1 s to 7 d after the first reading")]
    if faults:
        raise Invalid(faults)
    return ordered


def _heat(inputs: PullDownInputs, fit: PullDown) -> tuple[float | None, float | None]:
    """Heat removed [J] and mean cooling power [W], where the volume is known."""
    if inputs.volume is None:
        return None, None
    state: dict[str, Any] = {
        "mass_fraction": mass_fraction(inputs.strength),
        "temperature": (fit.start + fit.last) / 2.0,
    }
    held = bath_heat_capacity(
        glycol_volume=inputs.volume.value,
        density=glycol.density(**state),
        specific_heat=glycol.specific_heat(**state),
        metal_mass=inputs.metal.value,
    )
    heat = heat_removed(heat_capacity=held, start=fit.start, end=fit.last)
    return heat, cooling_power(heat_capacity=held, rate=fit.mean_rate.value, load=inputs.load.value)


def _share(inputs: PullDownInputs, power: float | None, bath: float) -> float | None:
    if power is None or inputs.rated_cooling is None:
        return None
    worth = capacity_share(None, rated_bath=inputs.rated_bath.value, bath=bath)
    return power / (inputs.rated_cooling.value * worth)


def _advice(judged: Judgement) -> str:
    return ADVICE.get(judged.because) or BY_SPEED[judged.because, judged.verdict]


def _notes(inputs: PullDownInputs, fit: PullDown) -> Iterator[str]:
    if fit.bend == 0.0:
        yield "The readings still lie on a straight line: the time to the set point is the earliest, as cooling slows."
    else:
        yield "The final temperature is extrapolated: another reading makes it more certain."
    if inputs.volume is None:
        yield "Give the volume to get heat and power; give rated_cooling too to get the share of the rating."
    elif inputs.load.value == 0.0:
        yield "No load was given: the cooling power is a lower limit."


CALCULATION = Calculation(
    name="pull-down",
    title="Pull-down of the bath",
    what_for="Rate, heat, power, final temperature, time to set point and verdict from timed bath temperatures.",
    inputs=PullDownInputs,
    results=PullDownResults,
    compute=calculate_pull_down,
    method="Least squares of T0 - r (1 - exp(-b t)) / b (a straight line until the bend is certain); heat balance.",
    source=(
        "W. H. Press et al., Numerical Recipes, 3rd ed., section 15.5 (from memory); the rule of 20 °F in 20 min and "
        "of no change in 10 min: common practice, no source"
    ),
    cautions=(
        "Refrigerant and gauges are for people certified under the local law. Hoses hold much of a small charge.",
        "Live parts: measure with the covers on where possible. Only licensed people open the cabinet.",
    ),
    example={
        "readings": [
            {"after": "0 min", "temperature": "80 degF"},
            {"after": "10 min", "temperature": "69 degF"},
            {"after": "20 min", "temperature": "60 degF"},
        ],
        "set_point": "28 degF",
        "volume": "38 L",
        "rated_cooling": "2900 Btu/h",
    },
)
