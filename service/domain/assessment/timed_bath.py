"""The pull-down from a visit's timed bath temperatures."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.evidence import Evidence, Need, worth
from service.domain.assessment.strength import strength_if_known, target
from service.domain.physics.bath.heat import RATING_BATH, bath_heat_capacity, cooling_power, rated_power_at
from service.domain.physics.bath.pull_down import PullDown, fit_pull_down
from service.domain.physics.bath.pull_down_verdict import (
    DIFFERENTIAL,
    Judgement,
    Verdict,
    judge_pull_down,
    noticeable_change,
)
from service.domain.physics.glycol.properties import ROOM, STRENGTH, density, specific_heat
from service.domain.physics.ranges import OutOfRange, below
from service.domain.record.visits import Reading

STOPPING_TASKS = frozenset(
    {"condenser_clean", "condenser_deep_clean", "glycol_change", "pump_check", "strainer_clean", "electrical_check"}
)


@dataclass(frozen=True, slots=True)
class PullDownSeen:
    """The fit, its verdict, the target temperature [K], and whether the unit was stopped meanwhile.

    `aim` is the set point, or the warm end of the usual band where none is recorded. `share` of the rated cooling is
    at least this much, as the load is not known; None where volume, strength or rating is not.
    """

    fit: PullDown
    judgement: Judgement
    aim: float
    interrupted: bool

    @property
    def share(self) -> float | None:
        """Share of the cooling expected by the rating."""
        return self.judgement.share


def timed_baths(e: Evidence) -> tuple[Reading, ...]:
    """The bath temperatures that show the pull-down, in order of time, one for each instant.

    Two or more as left count alone; else the last as found goes before what is there as left. A bath that warmed first,
    as during a repair, counts from its warmest reading.
    """
    read = [each for each in e.visit.readings if each.quantity == "bath_temperature" and each.at is not None]
    by_instant = {each.at: each for each in read}
    in_order = [by_instant[at] for at in sorted(by_instant)]  # type: ignore[type-var]  # none of them is None
    left = [each for each in in_order if each.when == "as_left"]
    found = [each for each in in_order if each.when == "as_found"]
    series = left if len(left) >= 2 else [*found[-1:], *left] if left else found
    return tuple(_from_the_warmest(sorted(series, key=in_order.index)))


def _from_the_warmest(series: Sequence[Reading]) -> Sequence[Reading]:
    if not series:
        return series
    values = [each.value.value for each in series]
    warmest = values.index(max(values))
    warmed = not below(values[warmest] - values[0], noticeable_change(0.3))
    return series[warmest:] if warmed and warmest < len(series) - 1 else series


TIMED = Need(
    "bath_temperature.at",
    "visit",
    "two timed bath temperatures, 10 minutes apart with the unit running,",
    lambda e: len(timed_baths(e)) >= 2,
)


def pull_down(e: Evidence) -> PullDownSeen:
    """The pull-down; OutOfRange where a reading is outside the range of the calculation."""
    series = timed_baths(e)
    seconds = tuple(each.at.timestamp() for each in series if each.at is not None)
    fit = _fit(tuple(at - seconds[0] for at in seconds), tuple(each.value.value for each in series))
    aim = worth(e.bath.set_point) or BATH_BAND[1]
    differential = worth(e.bath.differential)
    judgement = judge_pull_down(
        fit, set_point=aim, share=_share(e, fit), differential=DIFFERENTIAL if differential is None else differential
    )
    return PullDownSeen(fit, judgement, aim, interrupted=_interrupted(e, series))


@lru_cache(maxsize=1024)
def _fit(seconds: tuple[float, ...], temperatures: tuple[float, ...]) -> PullDown:
    return fit_pull_down(seconds, temperatures)


def _interrupted(e: Evidence, series: Sequence[Reading]) -> bool:
    """Whether the unit was worked on between the readings: then the time includes its standstill."""
    mixed = len({each.when for each in series}) > 1
    by_us = any(part.by == "us" and part.evidence == "seen" for part in e.visit.replacements)
    return mixed and (by_us or any(each.task in STOPPING_TASKS and each.result == "done" for each in e.visit.tasks))


def verdict(e: Evidence) -> Verdict | None:
    """The bath's verdict, None where there is none; the pull-down's own rule reports why."""
    if not TIMED.found(e):
        return None
    try:
        seen = pull_down(e)
    except OutOfRange:
        return None
    doubtful = seen.interrupted and seen.judgement.verdict is not Verdict.RECOVERING
    return Verdict.TOO_EARLY if doubtful else seen.judgement.verdict


def _share(e: Evidence, fit: PullDown) -> float | None:
    """The least share of the rated cooling that the bath got."""
    circuit, volume = e.refrigeration, worth(e.bath.volume)
    mass_fraction = strength_if_known(e) or target(e)
    if circuit.rated_cooling is None or circuit.rated_bath is None or not volume or mass_fraction is None:
        return None
    mean = min(max((fit.start + fit.last) / 2.0, RATING_BATH.low), RATING_BATH.high)
    expected = rated_power_at(rated=circuit.rated_cooling.value, rated_bath=circuit.rated_bath.value, bath=mean)
    heat, capacity = _heat_of_volume(min(mass_fraction, STRENGTH.high)), volume
    power = cooling_power(heat_capacity=capacity * heat, rate=fit.mean_rate.value)
    return power / expected


@lru_cache(maxsize=256)
def _heat_of_volume(mass_fraction: float) -> float:
    """Heat that a cubic metre of the glycol holds per kelvin [J/(m3 K)], at 20 °C; 1 % less in a cold bath."""
    return bath_heat_capacity(
        glycol_volume=1.0,
        density=density(mass_fraction=mass_fraction, temperature=ROOM),
        specific_heat=specific_heat(mass_fraction=mass_fraction, temperature=ROOM),
    )
