"""When a unit's drifting figures will reach their limits."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from service.domain.bench.fields import described
from service.domain.bench.figures import figure
from service.domain.condition.comparable import comparable
from service.domain.condition.drifting import Series, series_of
from service.domain.condition.figures import Known, known_of
from service.domain.condition.latest import difference_of
from service.domain.condition.learned import Learned
from service.domain.instants import local_day
from service.domain.messages import gettext, ngettext, term
from service.domain.quantities import Quantity, format_quantity
from service.domain.record.unit_log import ReadingTaken, UnitLog
from service.domain.statistics.drift import SOURCE, Drift

if TYPE_CHECKING:
    from service.domain.statistics.passage import Passage

HORIZON = 730  # days; what is not likely to be reached within them is steady
LIKELY = 0.5
OWN_RATE = 3  # readings from which a unit has a rate of its own
MOST = 24  # readings looked at, the latest
MONTH = 30
RATE = {
    "readings": gettext("likely rate {rate} in 30 days"),
    "earlier": gettext(
        "too few readings for a rate of its own, so that from before the last correction is taken, {rate} in 30 days"
    ),
    "fleet": gettext("too few readings for a rate of its own, so the usual one is taken, {rate} in 30 days"),
}
Kept = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """When a figure reaches its limit, by its readings since the last correction."""

    of: str = field(metadata=described("the figure"))
    component: str | None = field(metadata=described("where"))
    readings: int = field(metadata=described("that it rests on, since the last correction"))
    since: datetime = field(metadata=described("first of them"))
    latest: Quantity = field(metadata=described("last of them"))
    at: datetime = field(metadata=described("when that was"))
    limit: Quantity = field(metadata=described("that it drifts towards"))
    per_30_days: Quantity = field(metadata=described("likely rate; positive towards higher values"))
    state: str = field(metadata=described("crossed, drifting, or steady: no more likely than not within two years"))
    by: str = field(metadata=described("readings; earlier or fleet where they are too few for a rate of their own"))
    low: date | None = field(metadata=described("day by which the chance of reaching it is 10 %; null where steady"))
    likely: date | None = field(metadata=described("50 %"))
    high: date | None = field(metadata=described("90 %; null where later than two years on"))
    chance: float = field(metadata=described("of reaching it within two years of the latest reading"))
    sentence: str = field(metadata=described("the same in a sentence"))
    source: str = field(metadata=described("of the method"))


def forecasts_of(log: UnitLog, learned: Learned, only: Iterable[str | None]) -> tuple[Forecast, ...]:
    """The forecasts of these figures, of all that drift where none is named, with a reading since their correction."""
    known = known_of(log.unit, log.elevation)
    return tuple(forecasts(log, comparable(log, list(log.readings())), known, learned, "us", only))


def forecasts(
    log: UnitLog,
    compared: Sequence[ReadingTaken],
    known: Known,
    learned: Learned,
    system: str,
    only: Iterable[str | None] = (),
) -> Iterator[Forecast]:
    """The same by readings of comparable operating states."""
    for series in series_of(log, compared, known, only):
        drift = learned.drift(series.figure.of, log.site.surroundings, series.figure.usual)
        yield forecast(series, drift, log.time_zone, system)


def forecast(series: Series, drift: Drift, zone: str, system: str) -> Forecast:
    """When one figure reaches its limit."""
    former = tuple(_kept(*series.turned(points)) for points in series.former)
    found = _passage(*_kept(series.days, series.values), series.limit, drift, former)
    (since, _), (at, latest) = series.points[0], series.points[-1]
    day, figure_of, sign = local_day(at, zone), series.figure, 1.0 if series.figure.rises else -1.0
    crossed = found.crossed >= LIKELY
    state = "crossed" if crossed else "drifting" if found.within >= LIKELY else "steady"
    low, likely, high = (
        None if days is None or state == "steady" else day + timedelta(days=int(days + 1e-6))
        for days in (found.low, found.likely, found.high)
    )
    made = Forecast(
        of=figure_of.of,
        component=series.component,
        readings=len(series.points),
        since=since,
        latest=figure(latest, figure_of.dimension),
        at=at,
        limit=figure(figure_of.limit, figure_of.dimension),
        per_30_days=figure(sign * found.slope * MONTH, difference_of(figure_of.dimension)),
        state=state,
        by="readings" if len(series.points) >= OWN_RATE else "earlier" if former else "fleet",
        low=low,
        likely=likely,
        high=high,
        chance=round(found.within, 3),
        sentence="",
        source=SOURCE,
    )
    return with_sentence(made, figure_of.name, (local_day(since, zone), day), system)


@lru_cache(maxsize=4096)
def _passage(days: Kept, values: Kept, limit: float, drift: Drift, former: tuple[tuple[Kept, Kept], ...]) -> "Passage":
    from service.domain.statistics.passage import passage  # it needs numpy

    return passage(days, values, limit, drift, HORIZON, former)


def _kept(days: Sequence[float], values: Sequence[float]) -> tuple[Kept, Kept]:
    return tuple(days[-MOST:]), tuple(values[-MOST:])


def with_sentence(made: Forecast, name: str, days: tuple[date, date], system: str) -> Forecast:
    """The forecast with its sentence; `days` are those of its first and latest reading."""
    figure_of = term(name)
    if made.component is not None:
        figure_of = gettext("{figure} of {component}", figure=figure_of, component=made.component)
    read = ngettext(
        "{figure}: {count} reading on {last}, the latest {latest}, limit {limit}",
        "{figure}: {count} readings from {first} to {last}, the latest {latest}, limit {limit}",
        made.readings, figure=figure_of, first=days[0].isoformat(), last=days[1].isoformat(),
        latest=format_quantity(made.latest, system), limit=format_quantity(made.limit, system),
    )  # fmt: skip
    if made.state == "crossed":
        return replace(made, sentence=gettext("{read}: it has probably been reached.", read=read))
    shown = {"read": read, "rate": gettext(RATE[made.by], rate=format_quantity(made.per_30_days, system))}
    return replace(made, sentence=_ahead(made, shown))


def _ahead(made: Forecast, shown: Mapping[str, str]) -> str:
    """What is ahead of a figure that has not reached its limit."""
    if made.state == "steady":
        chance = f"{100.0 * made.chance:.0f} %"
        return gettext("{read}; {rate}: steady, {chance} chance within 2 years.", chance=chance, **shown)
    days = {"low": str(made.low), "likely": str(made.likely), **shown}
    if made.high is None:
        return gettext("{read}; {rate}: 10 % chance of reaching it by {low}, 50 % by {likely}.", **days)
    return gettext(
        "{read}; {rate}: 10 % chance of reaching it by {low}, 50 % by {likely}, 90 % by {high}.",
        high=made.high.isoformat(), **days,
    )  # fmt: skip
