"""What a chart over one year shows: its series, its stretches of time, and the sentence that says so."""

from dataclasses import dataclass
from datetime import date

from service.rendering.words import gettext

WIDTH, HALF, RIGHT = 482, 236, 8
NAMED, NUMBERED, WORDS = 98, 26, 66  # left of the picture, for the names of lanes and for numbers
MOST_NAMED = 8


@dataclass(frozen=True, slots=True)
class Series:
    """Points of one kind in order of time; `mark` is disc, square, ring or cross; `joined` draws a line."""

    name: str
    points: tuple[tuple[date, float], ...]
    mark: str
    joined: bool = True


@dataclass(frozen=True, slots=True)
class Spell:
    """A stretch of time on a lane; without an end it is drawn as open up to `until`. `seen` are parts of it.

    It may have begun at any time from `since`, and with both `end` and `until` have ended at any time up to this.
    """

    lane: int
    start: date
    end: date | None
    words: str
    seen: tuple[tuple[date, date], ...] = ()
    until: date | None = None
    since: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """One chart: values in `unit`, or, where there are `lanes`, the number of a lane counted from the lowest.

    `limits` are drawn as dashed lines with their words, `band` as a grey span with its own, `spells` as bars on their
    lanes. `first` to `last` is the span of the axis.
    """

    title: str
    unit: str
    series: tuple[Series, ...]
    first: date
    last: date
    limits: tuple[tuple[str, float], ...] = ()
    band: tuple[str, float, float] | None = None
    lanes: tuple[str, ...] = ()
    spells: tuple[Spell, ...] = ()
    width: int = WIDTH
    height: int = 54

    @property
    def left(self) -> int:
        """Where the picture begins, right of the names or numbers of its scale."""
        return NAMED if self.lanes else NUMBERED

    @property
    def right(self) -> int:
        """Where it ends, left of the words of its limits."""
        return self.width - (WORDS if self.limits or self.band else RIGHT)

    @property
    def empty(self) -> bool:
        """Whether there is nothing to draw."""
        return not self.spells and not any(one.points for one in self.series)


def alternative(chart: Chart) -> str:
    """Say what the chart shows, for whoever does not see it."""
    described = [f"{one.name or chart.lanes[0]}: {_described(chart, one)}." for one in chart.series if one.points]
    spells = [f"{chart.lanes[each.lane]}: {_spell(each)}." for each in chart.spells]
    limits = [f"{words}." for words, _ in chart.limits]
    limits += (
        [gettext("{name}: {low} to {high}.", name=chart.band[0], low=_value(chart, chart.band[1]),
                 high=_value(chart, chart.band[2]))]
        if chart.band else []
    )  # fmt: skip
    head = gettext("{title}, {first} to {last}.", title=chart.title, first=_day(chart.first), last=_day(chart.last))
    return " ".join([head, *described, *spells, *limits])


def _spell(each: Spell) -> str:
    if each.since:
        shown = {"first": _day(each.start), "since": _day(each.since), "words": each.words}
        return gettext("found on {first} and possible since {since}, {words}", **shown)
    if each.end and each.until:
        shown = {"first": _day(each.start), "last": _day(each.until), "words": each.words}
        return gettext("from {first} to {last} at the latest, {words}", **shown)
    if each.end:
        return gettext("from {first} to {last}, {words}", first=_day(each.start), last=_day(each.end), words=each.words)
    return gettext("from {first} and not known to have ended, {words}", first=_day(each.start), words=each.words)


def _described(chart: Chart, one: Series) -> str:
    if chart.lanes:
        return ", ".join(_day(on) for on, _ in one.points)
    if len(one.points) <= MOST_NAMED:
        return ", ".join(
            gettext("{value} on {day}", value=_value(chart, value), day=_day(on)) for on, value in one.points
        )
    low, high = (pick(value for _, value in one.points) for pick in (min, max))
    shown = {"low": _value(chart, low), "high": _value(chart, high)}
    return gettext("{count} readings between {low} and {high}", count=len(one.points), **shown)


def _value(chart: Chart, value: float) -> str:
    return chart.lanes[int(value)] if chart.lanes else f"{value:.1f} {chart.unit}"


def _day(on: date) -> str:
    return on.isoformat()
