"""The pictures of the fleet year as SVG: bars of visits by unit, and step curves with their bands.

They differ without colour: bars by fill and outline, curves by solid, dashed and grey. Text is escaped, and the
alternative text says in sentences what a picture shows.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.domain.summary.fleet import FleetYear
from service.domain.summary.fleet_lines import FAILED_ONLY, Curve, CurveStep, UnitLine
from service.rendering.svg import ACCENT, FAINT, INK, document, line, points, polyline, rect, scale_step, text
from service.rendering.words import gettext
from service.rendering.year.tables import words

MOST_BARS, BAR, WIDE, MARGIN = 15, 13, 482, 98
PLOT_WIDTH, PLOT_HEIGHT, LEFT, RIGHT, TOP, FOOT = 236, 126, 26, 8, 14, 24
YEAR_DAYS, LONGEST_TAG = 365.25, 18
BAND = "#dde3e8"


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing with its title and what it shows in words."""

    title: str
    svg: str
    alt: str


def bars(year: FleetYear) -> Picture | None:
    """Visits by unit, the units with most repair visits first; None where nothing was visited."""
    units = [unit for unit in year.units if unit.visits][:MOST_BARS]
    if not units:
        return None
    listed = "; ".join(map(_bar_in_words, units))
    alt = gettext("Our visits by unit, those with most repair visits first: {units}.", units=listed)
    return Picture(gettext("Visits by unit"), document(WIDE, TOP + BAR * len(units) + FOOT, _bars(units), alt), alt)


def _bar_in_words(each: UnitLine) -> str:
    shown = {"unit": each.unit, "visits": each.visits, "repairs": each.repair_visits}
    return gettext("{unit} {visits}, {repairs} to repair", **shown)


def _bars(units: Sequence[UnitLine]) -> Iterator[str]:
    step = max(scale_step(max(unit.visits for unit in units) / 4), 1.0)
    top = step * math.ceil(max(unit.visits for unit in units) / step)
    wide, foot = WIDE - MARGIN - 24, TOP + BAR * len(units)
    for number in range(round(top / step) + 1):
        x = MARGIN + wide * number * step / top
        yield line((x, TOP - 2), (x, foot), f'stroke="{FAINT}" stroke-width="0.5"')
        yield _text(x, foot + 10, f"{number * step:g}", "middle")
    yield _text(MARGIN + wide / 2, foot + 21, gettext("our visits in the year"), "middle")
    for number, unit in enumerate(units):
        y = TOP + BAR * number
        yield _text(MARGIN - 5, y + 8.5, _short(unit.unit), "end")
        yield _box(MARGIN, y + 2, wide * unit.visits / top, "#ffffff")
        yield _box(MARGIN, y + 2, wide * unit.repair_visits / top, INK)
        yield _text(MARGIN + wide * unit.visits / top + 4, y + 8.5, str(unit.visits), "start")
    yield _box(MARGIN, 1, 9, INK) + _text(MARGIN + 13, 8, gettext("to repair"), "start")
    yield _box(MARGIN + 60, 1, 9, "#ffffff") + _text(MARGIN + 73, 8, gettext("other"), "start")


def _short(tag: str) -> str:
    return tag if len(tag) <= LONGEST_TAG else f"{tag[: LONGEST_TAG - 1]}\u2026"


def curves(year: FleetYear) -> tuple[Picture, ...]:
    """A picture a kind of component of which anything was replaced, the most replaced first."""
    kinds = {curve.kind: curve for curve in year.curves if curve.reason != FAILED_ONLY and curve.steps}
    failed = {curve.kind: curve for curve in year.curves if curve.reason == FAILED_ONLY}
    ordered = sorted(kinds.values(), key=lambda curve: (-curve.steps[-1].mean, curve.kind))
    return tuple(_curves(failed[curve.kind], curve) for curve in ordered)


def _curves(failed: Curve, every: Curve) -> Picture:
    alt = " ".join(_in_words(failed, every))
    title = (words(every.kind) or "").capitalize()
    return Picture(title, document(PLOT_WIDTH, PLOT_HEIGHT, _plot(failed, every), alt), alt)


def _in_words(failed: Curve, every: Curve) -> Iterator[str]:
    first, last = _years(every.after_days), _years(every.until_days)
    yield gettext(
        "{kind}: replacements per unit from age {first} to {last} years.",
        kind=(words(every.kind) or "").capitalize(), first=f"{first:.1f}", last=f"{last:.1f}",
    )  # fmt: skip
    for name, curve in ((gettext("Failed"), failed), (gettext("For all reasons"), every)):
        if curve.steps:
            step = curve.steps[-1]
            yield gettext(
                "{name}: {events} on {units} units, at {age} years {mean}, between {low} and {high} at 95 %.",
                name=name, events=curve.events, units=curve.units, age=f"{_years(step.age_days):.1f}",
                mean=f"{step.mean:.2f}", low=f"{step.low:.2f}", high=f"{step.high:.2f}",
            )  # fmt: skip
        else:
            yield gettext("{name}: none.", name=name)


@dataclass(frozen=True, slots=True)
class _Frame:
    first: float
    last: float
    top: float

    def x(self, age_days: float) -> float:
        return LEFT + (PLOT_WIDTH - LEFT - RIGHT) * (age_days - self.first) / max(self.last - self.first, 1)

    def y(self, value: float) -> float:
        foot = PLOT_HEIGHT - FOOT
        return foot - (foot - TOP) * min(value, self.top) / self.top


def _plot(failed: Curve, every: Curve) -> Iterator[str]:
    means = [step.mean for curve in (failed, every) for step in curve.steps]
    # The limits of the first few events may reach far above all means: the scale keeps to what can be read.
    high = max([*means, *(min(step.high, 2.5 * means[-1]) for step in failed.steps)])
    unit = scale_step(high / 4)
    frame = _Frame(every.after_days, every.until_days, unit * math.ceil(high / unit))
    yield from _axes(frame, unit)
    if failed.steps:
        yield f'<polygon points="{_outline(frame, failed)}" fill="{BAND}" stroke="none"/>'
        for edge in ("low", "high"):
            yield _stairs(frame, failed, edge, 'stroke-width="0.5" stroke-dasharray="1 1.5"')
    yield _stairs(frame, every, "mean", 'stroke-width="0.9" stroke-dasharray="4 2"')
    yield _stairs(frame, failed, "mean", 'stroke-width="1.4"')
    yield line((LEFT, 5), (LEFT + 14, 5), f'stroke="{ACCENT}" stroke-width="1.4"') + _text(
        LEFT + 17, 7.5, gettext("failed, with 95 % band"), "start"
    )
    yield line((LEFT + 112, 5), (LEFT + 126, 5), f'stroke="{ACCENT}" stroke-width="0.9" stroke-dasharray="4 2"')
    yield _text(LEFT + 129, 7.5, gettext("all reasons"), "start")


def _axes(frame: _Frame, unit: float) -> Iterator[str]:
    foot = PLOT_HEIGHT - FOOT
    for number in range(round(frame.top / unit) + 1):
        y = frame.y(number * unit)
        yield line((LEFT, y), (PLOT_WIDTH - RIGHT, y), f'stroke="{FAINT}" stroke-width="0.5"')
        yield _text(LEFT - 4, y + 2.6, f"{number * unit:g}", "end")
    first, last = _years(frame.first), _years(frame.last)
    for number in range(math.ceil(first), math.floor(last) + 1, max(1, round((last - first) / 6))):
        x = frame.x(number * YEAR_DAYS)
        yield line((x, foot), (x, foot + 3), f'stroke="{INK}" stroke-width="0.7"') + _text(
            x, foot + 11, str(number), "middle"
        )
    yield line((LEFT, foot), (PLOT_WIDTH - RIGHT, foot), f'stroke="{INK}" stroke-width="0.7"')
    yield _text((LEFT + PLOT_WIDTH - RIGHT) / 2, foot + 21, gettext("age of the unit in years"), "middle")


def _corners(frame: _Frame, curve: Curve, name: str) -> list[tuple[float, float]]:
    """The corners of the stairs from the beginning of the span to its end."""
    corners, value = [(float(curve.after_days), 0.0)], 0.0
    for step in curve.steps:
        corners.append((step.age_days, value))
        value = _read(step, name)
        corners.append((step.age_days, value))
    return [(frame.x(age), frame.y(height)) for age, height in (*corners, (curve.until_days, value))]


def _read(step: CurveStep, name: str) -> float:
    return step.low if name == "low" else step.high if name == "high" else step.mean


def _outline(frame: _Frame, curve: Curve) -> str:
    return points([*_corners(frame, curve, "high"), *reversed(_corners(frame, curve, "low"))])


def _stairs(frame: _Frame, curve: Curve, name: str, style: str) -> str:
    return polyline(_corners(frame, curve, name), style)


def _years(days: float) -> float:
    return days / YEAR_DAYS


def _text(x: float, y: float, words: str, anchor: str) -> str:
    return text(x, y, words, f'text-anchor="{anchor}"')


def _box(x: float, y: float, width: float, fill: str) -> str:
    return rect((x, y), width, 8, f'fill="{fill}" stroke="{INK}" stroke-width="0.8"')
