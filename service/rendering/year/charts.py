"""Small charts over one year as SVG: one shared axis of months, limits drawn, marks that differ without colour.

Nothing that somebody typed is drawn, only numbers, units and words of ours; text is escaped all the same.
The alternative text says in a sentence what the picture shows.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import chain

from service.rendering.svg import ACCENT, FAINT, INK, document, line, polyline, rect, scale_step, text
from service.rendering.words import gettext, term
from service.rendering.year.chart import WIDTH, Chart, Series, alternative

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
TOP, LANE = 16, 13
FOOT = 14
CLOSE = 9.0  # labels nearer than that would lie over one another
SHORTEST = 3.0
BAND = "#e6ebef"
NARROW, WIDE = frozenset("fijlrt .,:;-|'()I"), frozenset("mwMW%@")
HATCH = 2.4  # between the lines of what is estimated


def draw(chart: Chart) -> str:
    """Draw the chart as an SVG document of its own; the same chart gives the same text."""
    height = TOP + FOOT + (LANE * len(chart.lanes) if chart.lanes else chart.height)
    frame = _Frame(chart, height - FOOT, *_span(chart))
    under = (_band(frame), _months(frame), _scale(frame), _limits(frame), _legend(chart), _spells(frame))
    parts = chain.from_iterable((*under, _series(frame), _words(frame)))
    return document(chart.width, height, parts, alternative(chart))


@dataclass(frozen=True, slots=True)
class _Frame:
    chart: Chart
    foot: int
    low: float
    high: float

    def x(self, on: date) -> float:
        days = max((self.chart.last - self.chart.first).days, 1)
        return self.chart.left + 6 + (self.chart.right - self.chart.left - 12) * (on - self.chart.first).days / days

    def y(self, value: float) -> float:
        return self.foot - (self.foot - TOP) * (value - self.low) / (self.high - self.low)


def _span(chart: Chart) -> tuple[float, float]:
    """The lowest and highest value of the scale, on whole steps."""
    if chart.lanes:
        return -0.5, len(chart.lanes) - 0.5
    values = [value for one in chart.series for _, value in one.points] + [value for _, value in chart.limits]
    values += chart.band[1:] if chart.band else ()
    step = _step(min(values), max(values))
    low, high = math.floor(min(values) / step), math.ceil(max(values) / step)
    return low * step, max(high, low + 1) * step


def _step(low: float, high: float) -> float:
    """A step that divides the span into about four."""
    return scale_step(max((high - low) / 4, 0.4))


def _months(frame: _Frame) -> Iterator[str]:
    chart = frame.chart
    for start in _starts(chart.first, chart.last):
        end = min(_next_month(start) - timedelta(days=1), chart.last)
        if start > chart.first:
            x = frame.x(start)
            yield line((x, TOP), (x, frame.foot), f'stroke="{FAINT}" stroke-width="0.4"')
        if (end - start).days >= 14:
            middle = (frame.x(max(start, chart.first)) + frame.x(end)) / 2
            name = term(MONTHS[start.month - 1])
            name = name if chart.width == WIDTH else name[0]
            yield text(middle, frame.foot + 10, name, 'text-anchor="middle"')


def _starts(first: date, last: date) -> Iterator[date]:
    start = first.replace(day=1)
    while start <= last:
        yield max(start, first)
        start = _next_month(start)


def _next_month(day: date) -> date:
    return (day.replace(day=1) + timedelta(days=32)).replace(day=1)


def _scale(frame: _Frame) -> Iterator[str]:
    chart, style = frame.chart, f'stroke="{FAINT}" stroke-width="0.5"'
    for value, words in _ticks(frame):
        y = frame.y(value)
        yield line((chart.left, y), (chart.right, y), style)
        yield text(chart.left - 5, y + 2.6, words, 'text-anchor="end"')
    yield line((chart.left, frame.foot), (chart.right, frame.foot), f'stroke="{INK}" stroke-width="0.7"')
    if not chart.lanes:
        yield text(chart.left - 5, TOP - 7, chart.unit, 'text-anchor="end" font-weight="600"')


def _ticks(frame: _Frame) -> Iterator[tuple[float, str]]:
    if frame.chart.lanes:
        yield from enumerate(frame.chart.lanes)
        return
    step = _step(frame.low, frame.high)
    for number in range(math.ceil(frame.low / step), math.floor(frame.high / step) + 1):
        yield number * step, f"{number * step:.{0 if step >= 1 else 1}f}".replace("-", "\u2212")


def _band(frame: _Frame) -> Iterator[str]:
    if frame.chart.band is not None:
        _, low, high = frame.chart.band
        top, wide = frame.y(high), frame.chart.right - frame.chart.left
        yield rect((frame.chart.left, top), wide, round(frame.y(low) - top, 1), f'fill="{BAND}"')


def _limits(frame: _Frame) -> Iterator[str]:
    style = f'stroke="{INK}" stroke-width="1" stroke-dasharray="5 2.5"'
    for _, value in frame.chart.limits:
        y = frame.y(value)
        yield line((frame.chart.left, y), (frame.chart.right, y), style)


def _words(frame: _Frame) -> Iterator[str]:
    """The words of the band and of each limit, right of the picture; those that stand too close move down."""
    chart, last = frame.chart, -CLOSE
    band = [(chart.band[0], (chart.band[1] + chart.band[2]) / 2)] if chart.band else []
    for words, value in sorted((*band, *chart.limits), key=lambda each: -each[1]):
        last = max(frame.y(value) + 2.6, last + CLOSE)
        yield text(chart.right + 4, last, words, 'font-style="italic" font-size="6.5"')


def _legend(chart: Chart) -> Iterator[str]:
    marks = [one for one in chart.series if one.points and one.name]
    bars = ((INK, gettext("seen")), ("", gettext("estimated"))) if chart.spells else ()
    wide = sum(18 + _width(one.name) for one in marks) + sum(22 + _width(name) for _, name in bars)
    x = max(min(chart.left + 6.0, chart.width - wide), 4.0) if chart.lanes else chart.left + 6.0
    for one in marks:
        yield _mark(one.mark, x, TOP - 9.5)
        yield text(x + 7, TOP - 7, one.name)
        x += 18 + _width(one.name)
    for fill, name in bars:
        yield from [rect((x - 3, TOP - 12.5), 8, 6, f'fill="{fill}"')] if fill else _hatched(x - 3, TOP - 12.5, 8)
        yield text(x + 8, TOP - 7, name)
        x += 22 + _width(name)


def _width(name: str) -> float:
    """About as wide as a name is set: three classes of letters of Open Sans."""
    return sum(2.4 if each in NARROW else 6.6 if each in WIDE else 4.2 for each in name)


def _hatched(x: float, y: float, wide: float) -> Iterator[str]:
    """A bar of upright lines."""
    yield rect((x, y), wide, 6, f'fill="#ffffff" stroke="{INK}" stroke-width="0.8"')
    for number in range(1, int(wide / HATCH) + 1):
        at = x + number * HATCH
        if at < x + wide:
            yield line((at, y), (at, y + 6), f'stroke="{INK}" stroke-width="0.7"')


def _series(frame: _Frame) -> Iterator[str]:
    for one in frame.chart.series:
        points = [(frame.x(on), frame.y(value)) for on, value in one.points]
        if one.joined and len(points) > 1:
            yield polyline(points, f'stroke-width="0.8"{_dash(one)}')
        yield from (_mark(one.mark, x, y) for x, y in points)


def _spells(frame: _Frame) -> Iterator[str]:
    """Hatched, what was seen solid, as wide as a mark at least; dotted where its beginning or end is not known."""
    for each in frame.chart.spells:
        start, y = frame.x(max(each.start, frame.chart.first)), frame.y(each.lane)
        known = each.end or max((until for _, until in each.seen), default=each.start)
        end = max(frame.x(min(known, frame.chart.last)), start + SHORTEST)
        if each.since:
            yield line((frame.x(each.since), y), (start, y), f'stroke="{INK}" stroke-dasharray="1 2"')
        yield from _hatched(start, y - 3, end - start)
        for since, until in each.seen:
            x = min(frame.x(max(since, frame.chart.first)), end - SHORTEST)
            wide = max(frame.x(min(until, frame.chart.last)) - x, SHORTEST)
            yield rect((x, y - 3), wide, 6, f'fill="{INK}"')
        if not each.end or each.until:
            right = frame.x(min(each.until, frame.chart.last)) if each.until else frame.chart.right
            yield line((end, y), (max(right, end), y), f'stroke="{INK}" stroke-dasharray="1 2"')


def _dash(one: Series) -> str:
    return ' stroke-dasharray="2 1.6"' if one.mark == "ring" else ""


def _mark(mark: str, x: float, y: float) -> str:
    if mark == "disc":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.4" fill="{ACCENT}"/>'
    if mark == "ring":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.3" fill="#ffffff" stroke="{ACCENT}" stroke-width="1.1"/>'
    if mark == "square":
        return rect((x - 2.3, y - 2.3), 4.6, 4.6, f'fill="{INK}"')
    style = f'stroke="{INK}" stroke-width="1.3"'
    return "".join(line((x - 2.6, y - 2.6 * down), (x + 2.6, y + 2.6 * down), style) for down in (1, -1))
