"""The figures of a unit that drift towards a limit, and their readings since the last correction."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from service.domain.assessment.bath import LOW_LEVEL
from service.domain.assessment.currents import METER
from service.domain.assessment.evidence import gather
from service.domain.assessment.timed_bath import TIMED, pull_down
from service.domain.bench.figures import SHARE
from service.domain.condition.figures import Known, coldest_of, freezing_of, split_of
from service.domain.condition.latest import MOMENT
from service.domain.physics.bath.pull_down_verdict import FAIR_SHARE, Verdict
from service.domain.physics.glycol.protection import LEAST_MARGIN
from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.condenser import SPLIT_ALARM
from service.domain.record.unit_log import ReadingTaken, UnitLog
from service.domain.record.visits import Visit
from service.domain.statistics.drift import Drift

CLEANINGS = ("condenser_clean", "condenser_deep_clean")
REFILL = 4.0  # times the noise of a reading by which a level or strength must rise to show that somebody topped up
FORMER = 6  # series before the last correction that are looked at
JUDGED = (Verdict.RECOVERING, Verdict.SLOW)
REFILL_SEEN = (
    2.0  # the same of readings as found and as left at one visit: somebody read again because of what was done
)
Point = tuple[datetime, float]
Found = dict[tuple[str | None, str], Point]  # by component and visit


@dataclass(frozen=True, slots=True, kw_only=True)
class Drifting:
    """A figure that drifts towards a limit.

    `rises`: the limit is above it. `usual` is how it drifts where no fleet says more, in the figure's unit and days.
    `corrected_by` are tasks after which its readings begin anew; replacing the component does so as well, and for
    what is `refilled` a reading that is much better than the one before.
    """

    of: str
    name: str
    dimension: str
    rises: bool
    limit: float
    usual: Drift
    points: Callable[[UnitLog, Sequence[ReadingTaken], Known], Found]
    corrected_by: tuple[str, ...] = ()
    refilled: bool = False


@dataclass(frozen=True, slots=True)
class Series:
    """The readings of one figure since its last correction, in order of time, and those between `former` ones."""

    figure: Drifting
    component: str | None
    points: tuple[Point, ...]
    former: tuple[tuple[Point, ...], ...] = ()

    @property
    def days(self) -> list[float]:
        """Days from the first reading to each."""
        return self.turned(self.points)[0]

    @property
    def values(self) -> list[float]:
        """The readings, turned so that they rise towards the limit."""
        return self.turned(self.points)[1]

    def turned(self, points: Sequence[Point]) -> tuple[list[float], list[float]]:
        """Days from the first of some readings to each, and the readings, turned so that they rise to the limit."""
        days = [(at - points[0][0]).total_seconds() / 86400.0 for at, _ in points]
        return days, [value if self.figure.rises else -value for _, value in points]

    @property
    def limit(self) -> float:
        """The limit, turned in the same way."""
        return self.figure.limit if self.figure.rises else -self.figure.limit


def series_of(
    log: UnitLog,
    compared: Sequence[ReadingTaken],
    known: Known,
    only: Iterable[str | None] = (),
    *,
    former: bool = False,
) -> Iterator[Series]:
    """Every drifting figure of which there is a reading since its last correction, or these `only`.

    `compared` are the unit's readings that may be compared; `former`: those between earlier corrections as well.
    """
    moments = {name: [each for each in compared if each.reading.when == name] for name in MOMENT}
    for each in (one for one in FIGURES if not only or one.of in only):
        found, left = (each.points(log, moments[name], known) for name in MOMENT)
        for component in sorted({place for place, _ in (*found, *left)}, key=lambda code: code or ""):
            runs = _between_corrections(log.visits, each, component, found, left)
            kept = tuple(tuple(points) for points in runs)
            for points in kept if former else kept[-1:]:
                if points:
                    yield Series(each, component, points, _informative(kept[:-1]) if component is None else ())


def _informative(runs: Sequence[tuple[Point, ...]]) -> tuple[tuple[Point, ...], ...]:
    """The latest runs that say how fast a figure drifts; a new part drifts as it likes."""
    return tuple(points for points in runs if len(points) > 1)[-FORMER:]


def _between_corrections(
    visits: Iterable[Visit], figure: Drifting, component: str | None, found: Found, left: Found
) -> list[list[Point]]:
    """The readings from one correction to the next; the last ones, since the last, may be none."""
    runs: list[list[Point]] = [[]]
    for visit in visits:
        before, after = found.get((component, visit.id)), left.get((component, visit.id))
        if before is not None:
            _join(runs, before, figure)
        if _corrected(visit, figure, component):
            runs.append([])
        topped_up = before is not None and after is not None and _refilled(before, after, figure, REFILL_SEEN)
        if topped_up:
            runs.append([])
        if after is not None and (topped_up or before is None or not runs[-1]):
            _join(runs, after, figure)
    return runs


def _join(runs: list[list[Point]], point: Point, figure: Drifting) -> None:
    """Add a reading, which begins a new series where somebody has topped up."""
    if runs[-1] and _refilled(runs[-1][-1], point, figure):
        runs.append([])
    runs[-1].append(point)


def _refilled(before: Point, after: Point, figure: Drifting, times: float = REFILL) -> bool:
    better = (after[1] - before[1]) * (-1.0 if figure.rises else 1.0)
    return figure.refilled and better > times * figure.usual.noise


def _corrected(visit: Visit, figure: Drifting, component: str | None) -> bool:
    if any(task.task in figure.corrected_by and task.result == "done" for task in visit.tasks):
        return True
    return component is not None and any(part.component == component for part in visit.replacements)


def _margins(_log: UnitLog, readings: Sequence[ReadingTaken], known: Known) -> Found:
    """The coldest surface that the bath's set point gives, else the cold bath, less the freezing point."""
    surface = coldest_of(readings, known)
    if surface is None:
        return {}
    read = ((each, freezing_of(each.reading, known)) for each in _each(readings, "glycol_strength"))
    return {(None, each.visit): (each.at, surface - freezing) for each, freezing in read if freezing is not None}


def _excesses(_log: UnitLog, readings: Sequence[ReadingTaken], known: Known) -> Found:
    """The split over the unit's own clean split, where no control of the head may have made it."""
    if known.clean_split is None:
        return {}
    return {
        (None, visit): (at, split - known.clean_split)
        for at, split, visit in split_of(readings, known, uncontrolled=True)
    }


def _levels(_log: UnitLog, readings: Sequence[ReadingTaken], _known: Known) -> Found:
    return {(None, each.visit): (each.at, each.reading.value.value) for each in _each(readings, "bath_level")}


def _shares(_log: UnitLog, readings: Sequence[ReadingTaken], known: Known) -> Found:
    """The current over the rating of each motor."""
    return {
        (each.reading.component, each.visit): (each.at, each.reading.value.value / rating.value)
        for each in _each(readings, "current")
        if (rating := known.ratings.get(each.reading.component or "")) is not None and rating.value > 0.0
    }


def _pull_downs(log: UnitLog, readings: Sequence[ReadingTaken], _known: Known) -> Found:
    """The time to pull down over that expected by the rating, where the bath was read twice in time."""
    baths = [each for each in readings if each.reading.quantity == "bath_temperature"]
    timed = {(each.visit, each.reading.when): each.at for each in baths}
    found: Found = {}
    for visit in log.visits:
        for moment in MOMENT:
            if (visit.id, moment) not in timed:
                continue
            share = _share(log, visit, moment)
            if share is not None:
                found[None, visit.id] = (timed[visit.id, moment], 1.0 / share)
    return found


def _share(log: UnitLog, visit: Visit, moment: str) -> float | None:
    """The share of the rated cooling at one moment of a visit, where it can be judged."""
    evidence = gather(visit, log.unit, "si", moment, log.elevation)
    if not TIMED.found(evidence):
        return None
    try:
        seen = pull_down(evidence)
    except OutOfRange:
        return None
    judged = seen.judgement.verdict in JUDGED and not seen.interrupted and seen.share is not None
    return seen.share if judged and seen.share and seen.share > 0.0 else None


def _each(readings: Iterable[ReadingTaken], quantity: str) -> list[ReadingTaken]:
    """The first reading of a quantity at each place and visit."""
    first: dict[tuple[str, str | None], ReadingTaken] = {}
    for each in readings:
        if each.reading.quantity == quantity:
            first.setdefault((each.visit, each.reading.component), each)
    return list(first.values())


# How figures usually drift is judged, no source; a fleet replaces it by what it shows.
FIGURES: tuple[Drifting, ...] = (
    Drifting(
        of="freeze_margin", name="Freeze margin of the coil in the cold bath", dimension="temperature_difference",
        rises=False, limit=LEAST_MARGIN,
        usual=Drift(slope=0.006, spread=0.8, noise=0.5, wander=0.02, steady=0.1), points=_margins,
        corrected_by=("glycol_change",), refilled=True,
    ),
    Drifting(
        of="condenser_split_excess", name="Condenser split over its clean value", dimension="temperature_difference",
        rises=True, limit=SPLIT_ALARM,
        usual=Drift(slope=0.04, spread=0.8, noise=1.0, wander=0.06), points=_excesses,
        corrected_by=CLEANINGS,
    ),
    Drifting(
        of="bath_level", name="Bath level", dimension="fraction", rises=False, limit=LOW_LEVEL,
        usual=Drift(slope=0.0006, spread=0.8, noise=0.02, wander=0.002, steady=0.2), points=_levels,
        corrected_by=("glycol_change",), refilled=True,
    ),
    Drifting(
        of="current_share", name="Share of the rated current", dimension=SHARE, rises=True, limit=1.0 + METER,
        usual=Drift(slope=0.0003, spread=0.8, noise=0.03, wander=0.002, steady=0.6), points=_shares,
    ),
    Drifting(
        of="pull_down_time", name="Time to pull down over that expected by the rating", dimension=SHARE, rises=True,
        limit=1.0 / FAIR_SHARE,
        usual=Drift(slope=0.001, spread=0.8, noise=0.1, wander=0.008, steady=0.4), points=_pull_downs,
        corrected_by=CLEANINGS,
    ),
)  # fmt: skip
