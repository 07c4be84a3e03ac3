"""The pull-down from a visit's timed bath temperatures."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from service.domain.assessment.air import air_entering
from service.domain.assessment.bands import BATH_BAND
from service.domain.assessment.evidence import Evidence, Need, worth
from service.domain.assessment.figure import Uncertain
from service.domain.assessment.refrigerant_of import refrigerant_of
from service.domain.assessment.strength import strength_if_known, target
from service.domain.assessment.uncertainty import SURE, THERMOMETER, together
from service.domain.physics.bath.heat import bath_heat_capacity, cooling_power
from service.domain.physics.bath.pull_down import PullDown, fit_pull_down
from service.domain.physics.bath.pull_down_verdict import (
    DIFFERENTIAL,
    FAIR_SHARE,
    FULL_POWER_BATH,
    Because,
    Judgement,
    Verdict,
    judge_pull_down,
    noticeable_change,
)
from service.domain.physics.glycol.properties import ROOM, STRENGTH, density, specific_heat
from service.domain.physics.ranges import OutOfRange, below
from service.domain.physics.refrigeration.capacity import capacity_share
from service.domain.record.visits import Reading

USUAL = 0.35  # mass fraction, where neither reading nor target is recorded
ONE_PROBE = 0.2  # K: standard uncertainty of a difference read with one probe; judged
FLOW_ERROR = 0.1  # of the flow; judged
STOPPING_TASKS = frozenset(
    {"condenser_clean", "condenser_deep_clean", "glycol_change", "pump_check", "strainer_clean", "electrical_check"}
)


@dataclass(frozen=True, slots=True)
class PullDownSeen:
    """The fit, its verdict, the target temperature [K], and whether the unit was stopped meanwhile.

    `aim` is the set point, or the warm end of the usual band where none is recorded. `share` is that of the rated
    cooling without any load, `at_most` with the load read at the loop or, where none was, with the largest that a
    rightly sized unit may have; None where volume, strength or rating is not known.
    """

    fit: PullDown
    judgement: Judgement
    aim: float
    interrupted: bool
    at_most: float | None = None

    @property
    def share(self) -> float | None:
        """Share of the cooling expected by the rating."""
        return self.judgement.share

    @property
    def slow_for_certain(self) -> bool:
        """Whether it is slow whatever the load."""
        if self.judgement.because is Because.ENDS_ABOVE_SET_POINT:
            return True
        return self.at_most is not None and below(self.at_most, FAIR_SHARE)


@lru_cache(maxsize=8)
def timed_baths(e: Evidence) -> tuple[Reading, ...]:
    """The bath temperatures that show the pull-down, in order of time, one for each instant.

    Two or more as left count alone; else the last as found goes before what is there as left. A bath that warmed first,
    as during a repair, counts from its warmest reading. Where one as left is timed before one as found, none counts.
    """
    by_instant = {each.at: each for each in e.baths}
    in_order = [by_instant[at] for at in sorted(by_instant)]  # type: ignore[type-var]  # none of them is None
    left = [each for each in in_order if each.when == "as_left"]
    found = [each for each in in_order if each.when == "as_found"]
    if found and left and in_order.index(left[0]) < in_order.index(found[-1]):
        return ()
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


@lru_cache(maxsize=8)
def pull_down(e: Evidence) -> PullDownSeen:
    """The pull-down; OutOfRange where a reading is outside the range of the calculation."""
    series = timed_baths(e)
    seconds = tuple(each.at.timestamp() for each in series if each.at is not None)
    fit = _fit(tuple(at - seconds[0] for at in seconds), tuple(each.value.value for each in series))
    aim = worth(e.bath.set_point) or BATH_BAND[1]
    differential = worth(e.bath.differential)
    mean = (fit.start + fit.last) / 2.0
    shares = _shares(e, fit, mean)
    judgement = judge_pull_down(
        fit,
        set_point=aim,
        share=shares and shares[0],
        differential=(DIFFERENTIAL if differential is None else differential) + THERMOMETER,
        worth=1.0 if shares else min(capacity_share(refrigerant_of(e), rated_bath=FULL_POWER_BATH, bath=mean), 1.0),
    )
    return PullDownSeen(fit, judgement, aim, _interrupted(e, series), at_most=shares and shares[1])


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


def _shares(e: Evidence, fit: PullDown, mean: float) -> tuple[float, float] | None:
    """The share of the rated cooling that the bath got: without a load, and with the largest plausible one."""
    circuit, heat = e.refrigeration, heat_capacity(e)
    if circuit.rated_cooling is None or circuit.rated_bath is None or heat is None:
        return None
    expected = circuit.rated_cooling.value * capacity_share(
        refrigerant_of(e),
        rated_bath=circuit.rated_bath.value,
        bath=mean,
        rated_ambient=worth(circuit.rated_ambient),
        ambient=air_entering(e),
        metering=circuit.metering,
    )
    measured = loop_load(e)
    load = circuit.rated_cooling.value if measured is None else measured.value + SURE * measured.uncertainty
    power = cooling_power(heat_capacity=heat, rate=fit.mean_rate.value)
    return power / expected, (power + max(load, 0.0)) / expected


def heat_capacity(e: Evidence) -> float | None:
    """The heat that the bath holds per kelvin [J/K]; None where volume or strength is not known."""
    volume, mass_fraction = worth(e.bath.volume), strength_if_known(e) or target(e)
    if not volume or mass_fraction is None:
        return None
    return volume * _heat_of_volume(min(mass_fraction, STRENGTH.high))


def loop_load(e: Evidence) -> Uncertain | None:
    """The load by the loop's flow and rise [W], None where they were not read; both temperatures by one probe."""
    if not all(e.has(name) for name in ("glycol_flow", "glycol_supply_temperature", "glycol_return_temperature")):
        return None
    rise = e.value("glycol_return_temperature") - e.value("glycol_supply_temperature")
    per_kelvin = e.value("glycol_flow") * _heat_of_volume(
        min(strength_if_known(e) or target(e) or USUAL, STRENGTH.high)
    )
    load = per_kelvin * rise
    return Uncertain(load, "power", together(per_kelvin * ONE_PROBE, FLOW_ERROR * load))


@lru_cache(maxsize=256)
def _heat_of_volume(mass_fraction: float) -> float:
    """Heat that a cubic metre of the glycol holds per kelvin [J/(m3 K)], at 20 °C; 1 % less in a cold bath."""
    return bath_heat_capacity(
        glycol_volume=1.0,
        density=density(mass_fraction=mass_fraction, temperature=ROOM),
        specific_heat=specific_heat(mass_fraction=mass_fraction, temperature=ROOM),
    )
