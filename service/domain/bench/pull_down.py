"""A bath coming down, at the bench: rate, heat, where it tends, when it is there, and what that says."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from service.domain.bench.fields import Calculation, Outcome, count, measured, told
from service.domain.bench.figures import SHARE, figure, figure_if, figure_of
from service.domain.bench.strengths import ASKED_TARGET, mass_fraction
from service.domain.errors import Fault, Invalid
from service.domain.physics.bath.heat import (
    RATING_BATH,
    bath_heat_capacity,
    cooling_power,
    heat_removed,
    rated_power_at,
)
from service.domain.physics.bath.pull_down import PullDown, final_temperature, fit_pull_down, time_to
from service.domain.physics.bath.pull_down_verdict import Judgement, judge_pull_down, wait_before_measuring
from service.domain.physics.glycol import properties as glycol
from service.domain.quantities import Quantity

BATH = ("temperature", "-40 degC", "60 degC")
SPREAD = ("temperature_difference", "0.02 deltaF", "9 deltaF")
ADVICE = {
    "at_set_point": "The bath is at its set point.",
    "short_and_unchanged": "Too early to say: wait and read again.",
    "no_noticeable_change": "Not cooling: look for the cause, do not wait.",
    "warming": "The bath is warming: look for the cause, do not wait.",
    "ends_above_set_point": "It comes down, but will end above its set point: load, condenser, charge or setting.",
}
BY_SPEED = {
    ("share_of_rating", "recovering"): "It comes down with the power that its rating promises.",
    ("share_of_rating", "slow"): "It comes down with less than its rating promises: read condenser, currents and load.",
    ("trade_rate", "recovering"): "It comes down about as fast as such units do.",
    ("trade_rate", "slow"): "It comes down slower than such units do: read condenser, currents and load.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BathReading:
    """A bath temperature and when it was read."""

    after: Quantity = field(metadata=measured("since the first reading or any start", ("time", "0 s", "30 d")))
    temperature: Quantity = field(metadata=measured("of the bath", BATH))


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingDown:
    """Timed readings, and what is known of bath and unit."""

    readings: tuple[BathReading, ...] = field(metadata=count("in the order read", 2, 100))
    set_point: Quantity = field(metadata=measured("of the controller", BATH, usual="28 degF"))
    differential: Quantity = field(
        metadata=measured(
            "between stop and start", ("temperature_difference", "0 deltaF", "36 deltaF"), usual="4 deltaF"
        )
    )
    thermometer: Quantity = field(metadata=measured("its standard uncertainty", SPREAD, usual="0.5 deltaF"))
    volume: Quantity | None = field(
        default=None, metadata=measured("glycol in bath and loop", ("volume", "0.1 L", "10 m3"))
    )
    strength: Quantity = field(metadata=ASKED_TARGET)
    metal: Quantity = field(
        metadata=measured("tank and coil, cooled along", ("mass", "0 kg", "10000 kg"), usual="0 kg")
    )
    load: Quantity = field(metadata=measured("heat coming in meanwhile", ("power", "0 W", "100 kW"), usual="0 W"))
    rated_cooling: Quantity | None = field(default=None, metadata=measured("of the unit", ("power", "1 W", "1000 kW")))
    rated_bath: Quantity = field(
        metadata=measured("bath at which the rating holds", ("temperature", "-15 degC", "60 degC"), usual="28 degF")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PulledDown:
    """What the readings say; null where they, or volume and rating, do not say it."""

    verdict: str = field(metadata=told("recovering, slow, not_cooling or too_early"))
    because: str = field(metadata=told("the rule that decided"))
    advice: str = field(metadata=told("the same in a sentence"))
    wait: Quantity = field(metadata=told("until the next reading says more"))
    rate: Quantity = field(metadata=told("of cooling, from the first reading to the last"))
    rate_uncertainty: Quantity = field(metadata=told("standard"))
    final_temperature: Quantity | None = field(metadata=told("where it tends; null while the way is still straight"))
    final_uncertainty: Quantity | None = field(metadata=told("standard"))
    time_to_set_point: Quantity | None = field(metadata=told("after the last reading; null: never at this rate"))
    time_uncertainty: Quantity | None = field(metadata=told("standard"))
    heat_removed: Quantity | None = field(metadata=told("from bath, glycol and metal"))
    cooling_power: Quantity | None = field(metadata=told("on average, the load included"))
    share_of_rating: Quantity | None = field(metadata=told("of what the rating is worth at this bath temperature"))


def come_down(asked: ComingDown) -> Outcome:
    """What a pull-down says."""
    _require_rising(asked)
    temperatures = [reading.temperature.value for reading in asked.readings]
    fit = fit_pull_down([reading.after.value for reading in asked.readings], temperatures, asked.thermometer.value)
    heat, power = _heat(asked, fit)
    share = _share(asked, power, (temperatures[0] + temperatures[-1]) / 2.0)
    set_point = asked.set_point.value
    judged = judge_pull_down(fit, set_point=set_point, share=share, differential=asked.differential.value)
    final, until = final_temperature(fit), time_to(fit, set_point)
    return Outcome(
        results=PulledDown(
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
        notes=tuple(_notes(asked, fit)),
    )


def _require_rising(asked: ComingDown) -> None:
    faults = [
        Fault(f"readings.{number}.after", later.after.entered, "is not after the reading before it")
        for number, (earlier, later) in enumerate(pairwise(asked.readings), 1)
        if later.after.value <= earlier.after.value
    ]
    span = asked.readings[-1].after.value - asked.readings[0].after.value
    if not faults and not 1.0 <= span <= 604800.0:
        last = f"readings.{len(asked.readings) - 1}.after"
        faults = [Fault(last, asked.readings[-1].after.entered, "must lie from 1 s to 7 d after the first reading")]
    if faults:
        raise Invalid(faults)


def _heat(asked: ComingDown, fit: PullDown) -> tuple[float | None, float | None]:
    """Heat removed [J] and mean cooling power [W], where the volume is known."""
    if asked.volume is None:
        return None, None
    state: dict[str, Any] = {
        "mass_fraction": mass_fraction(asked.strength),
        "temperature": (fit.start + fit.last) / 2.0,
    }
    held = bath_heat_capacity(
        glycol_volume=asked.volume.value,
        density=glycol.density(**state),
        specific_heat=glycol.specific_heat(**state),
        metal_mass=asked.metal.value,
    )
    heat = heat_removed(heat_capacity=held, start=fit.start, end=fit.last)
    return heat, cooling_power(heat_capacity=held, rate=fit.mean_rate.value, load=asked.load.value)


def _share(asked: ComingDown, power: float | None, bath: float) -> float | None:
    if power is None or asked.rated_cooling is None or not RATING_BATH.low <= bath <= RATING_BATH.high:
        return None
    expected = rated_power_at(rated=asked.rated_cooling.value, rated_bath=asked.rated_bath.value, bath=bath)
    return power / expected


def _advice(judged: Judgement) -> str:
    return ADVICE.get(judged.because) or BY_SPEED[judged.because, judged.verdict]


def _notes(asked: ComingDown, fit: PullDown) -> Iterator[str]:
    if fit.bend == 0.0:
        yield "The way is still a straight line: the time to the set point is the earliest, every bath slows."
    else:
        yield "The final temperature is extrapolated: a further reading makes it surer."
    if asked.volume is None:
        yield "With the volume it also says what heat and power that is; with rated_cooling, what share of the rating."
    elif asked.load.value == 0.0:
        yield "No load was given: the cooling power is a lower limit."


CALCULATION = Calculation(
    name="pull-down",
    title="Is the bath coming down as it should?",
    what_for="From two or more timed bath temperatures: rate, heat, power, where it ends, time to set point, verdict.",
    asks=ComingDown,
    tells=PulledDown,
    compute=come_down,
    method="Least squares of T0 - r (1 - exp(-b t)) / b (a straight line until the bend is sure); balance of heat.",
    source=(
        "W. H. Press et al., Numerical Recipes, 3rd ed., section 15.5 (from memory); the rule of 20 °F in 20 min and "
        "of no change in 10 min: common practice, no source"
    ),
    cautions=(
        "Refrigerant and gauges are for those certified as local law asks: a hose takes a good part of a small charge.",
        "Live parts: measure with covers on where you can; opening the cabinet is for licensed hands.",
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
