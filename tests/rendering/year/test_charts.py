"""The charts read back from their own drawing: marks by the scale's labels, days by the ends of the axis."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from service.domain.quantities import Quantity
from service.domain.summary.lines import Outage
from service.domain.summary.measured import CondenserPoint
from service.rendering.svg import INK
from service.rendering.year.chart import NAMED, NUMBERED, RIGHT, WIDTH, Chart, Series, Spell, alternative
from service.rendering.year.charts import BAND, draw
from service.rendering.year.unit_charts import charts, time_line
from tests.rendering.test_summary_documents import a_summary, a_unit

SVG = "{http://www.w3.org/2000/svg}"
REPORTED = {"begin_unknown": False, "earliest_at": None, "earliest_on": None}
FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)
POINTS = ((date(2026, 1, 1), -7.5), (date(2026, 5, 17), 12.5), (date(2026, 12, 31), 3.0))


def a_chart(*series: Series, **more: object) -> Chart:
    return Chart(title="T", unit="°C", series=series, first=FIRST, last=LAST, **more)  # type: ignore[arg-type]


def scale(drawing: ElementTree.Element) -> list[tuple[float, float]]:
    """Labels of the scale on the left as (height, number)."""
    texts = [text for text in drawing.iter(f"{SVG}text") if text.get("text-anchor") == "end" and _number(text.text)]
    return [(float(text.get("y") or 0) - 2.6, float(_number(text.text) or 0)) for text in texts]


def _number(text: str | None) -> str | None:
    shown = (text or "").replace("\u2212", "-")
    return shown if shown.replace("-", "").replace(".", "").isdigit() else None


def value_at(drawing: ElementTree.Element, y: float) -> float:
    (low_y, low), *_, (high_y, high) = sorted(scale(drawing), key=lambda each: each[1])
    return low + (high - low) * (y - low_y) / (high_y - low_y)


def day_at(x: float, left: int = NUMBERED) -> date:
    inner = (left + 6, WIDTH - RIGHT - 6)
    return FIRST + timedelta(days=round((x - inner[0]) / (inner[1] - inner[0]) * (LAST - FIRST).days))


def test_marks_stand_at_their_values_and_days() -> None:
    drawing = ElementTree.fromstring(draw(a_chart(Series("s", POINTS, "disc"))))
    marks = [(float(each.get("cx") or 0), float(each.get("cy") or 0)) for each in drawing.iter(f"{SVG}circle")][1:]

    assert [value_at(drawing, y) for _, y in marks] == pytest.approx([value for _, value in POINTS], abs=0.1)
    assert [day_at(x) for x, _ in marks] == [on for on, _ in POINTS]


def test_a_limit_is_a_dashed_line_at_its_value() -> None:
    drawing = ElementTree.fromstring(draw(a_chart(Series("s", POINTS, "disc"), limits=(("least 5 °C", 5.0),))))
    (line,) = [each for each in drawing.iter(f"{SVG}line") if each.get("stroke-dasharray") == "5 2.5"]

    assert value_at(drawing, float(line.get("y1") or 0)) == pytest.approx(5.0, abs=0.1)


def test_the_words_of_limits_stand_right_of_the_picture_and_never_over_one_another() -> None:
    limits = (("clean 5 °C", 5.0), ("limit 6 °C", 6.0))
    chart = a_chart(Series("s", POINTS, "disc"), limits=limits, band=("cold enough", 4.0, 7.0))
    texts = [each for each in ElementTree.fromstring(draw(chart)).iter(f"{SVG}text") if each.get("font-style")]
    heights = sorted(float(each.get("y") or 0) for each in texts)

    assert {each.text for each in texts} == {"clean 5 °C", "limit 6 °C", "cold enough"}
    assert all(float(each.get("x") or 0) > chart.right for each in texts)
    assert min(after - before for before, after in pairwise(heights)) >= 9.0


def test_every_kind_of_mark_has_a_shape_of_its_own() -> None:
    """So that the series differ without colour."""
    shapes = {mark: draw(a_chart(Series("s", POINTS[:1], mark))) for mark in ("disc", "ring", "square", "cross")}

    assert len(set(shapes.values())) == 4


def test_what_was_seen_late_in_a_spell_that_is_open_is_solid_on_its_days_alone() -> None:
    spell = Spell(0, date(2026, 1, 1), None, "about 230 days", ((date(2026, 7, 24), date(2026, 8, 18)),))
    drawing = ElementTree.fromstring(draw(a_chart(lanes=("no cold beer",), spells=(spell,))))
    (solid,) = [each for each in drawing.iter(f"{SVG}rect") if each.get("fill") == INK and each.get("width") != "8.0"]
    (dotted,) = [each for each in drawing.iter(f"{SVG}line") if each.get("stroke-dasharray") == "1 2"]

    assert day_at(float(solid.get("x") or 0), NAMED) == date(2026, 7, 24)
    assert day_at(float(dotted.get("x1") or 0), NAMED) == date(2026, 8, 18)


def test_a_spell_without_an_end_is_dotted_up_to_the_day_on_which_something_else_is_known() -> None:
    spell = Spell(0, date(2026, 3, 1), None, "about 2.0 h", until=date(2026, 6, 1))
    drawing = ElementTree.fromstring(draw(a_chart(lanes=("no cold beer",), spells=(spell,))))
    (dotted,) = [each for each in drawing.iter(f"{SVG}line") if each.get("stroke-dasharray") == "1 2"]

    assert day_at(float(dotted.get("x2") or 0), NAMED) == date(2026, 6, 1)


def test_a_long_legend_ends_within_the_chart() -> None:
    names = ("service call", "maintenance", "follow-up", "installation", "failed", "replaced")
    spell = Spell(0, date(2026, 3, 1), date(2026, 6, 1), "about 4.0 h")
    series = [Series(name, ((FIRST, 0.0),), "disc", joined=False) for name in names]
    drawing = ElementTree.fromstring(draw(a_chart(*series, lanes=("no cold beer",), spells=(spell,))))
    ends = [
        float(each.get("x") or 0) + 3.9 * len(each.text or "")
        for each in drawing.iter(f"{SVG}text") if each.text in (*names, "seen", "estimated")
    ]  # fmt: skip

    assert len(ends) == 8
    assert max(ends) <= WIDTH


def test_a_spell_is_hatched_from_its_first_day_to_its_last_and_solid_where_it_was_seen() -> None:
    seen = (date(2026, 4, 1), date(2026, 5, 1))
    spell = Spell(0, date(2026, 3, 1), date(2026, 6, 1), "about 4.0 h", (seen,))
    drawing = ElementTree.fromstring(draw(a_chart(lanes=("no cold beer",), spells=(spell,))))
    *_, hatched, solid = [each for each in drawing.iter(f"{SVG}rect") if each.get("height") == "6"]

    def span(bar: ElementTree.Element) -> tuple[date, date]:
        start = float(bar.get("x") or 0)
        return day_at(start, NAMED), day_at(start + float(bar.get("width") or 0), NAMED)

    assert (span(hatched), span(solid)) == ((spell.start, spell.end), seen)
    assert (hatched.get("fill"), solid.get("fill")) == ("#ffffff", INK)


def test_a_band_is_as_high_as_its_values() -> None:
    drawing = ElementTree.fromstring(draw(a_chart(Series("s", POINTS, "disc"), band=("cold enough", -2.0, 4.5))))
    (bar,) = [each for each in drawing.iter(f"{SVG}rect") if each.get("fill") == BAND]
    top = float(bar.get("y") or 0)

    assert value_at(drawing, top) == pytest.approx(4.5, abs=0.1)
    assert value_at(drawing, top + float(bar.get("height") or 0)) == pytest.approx(-2.0, abs=0.1)


def test_the_alternative_text_has_each_value_its_unit_and_day() -> None:
    shown = alternative(a_chart(Series("s", POINTS, "disc"), limits=(("least 5 °C", 5.0),)))

    values = "s: -7.5 °C on 2026-01-01, 12.5 °C on 2026-05-17, 3.0 °C on 2026-12-31."
    assert shown == f"T, 2026-01-01 to 2026-12-31. {values} least 5 °C."


def test_the_split_is_drawn_beside_its_limit() -> None:
    at = [Quantity(number, "temperature_difference", "") for number in (16.0, 12.0, 18.0)]
    point = CondenserPoint(visit="v", on=FIRST, as_found=None, split=at[0], clean_split=at[1], split_limit=at[2])
    unit = replace(a_unit(), condenser=(point,))
    (chart,) = [each for each in charts(unit, a_summary(unit)) if each.title.startswith("Condenser")]

    assert (chart.unit, chart.limits) == ("°C", (("clean 12 °C", 12.0), ("limit 18 °C", 18.0)))
    assert chart.series[0].points == ((FIRST, 16.0),)


def test_an_outage_stands_above_the_failures() -> None:
    """Its days are the site's: 2026-03-02 at 05:00 UTC is still the first in Denver."""
    hours = Quantity(7200.0, "time", "")
    outage = Outage(
        unit="GU-0007", visit="v", symptom="warm_pour", reported_at=None, restored_at=None, restored_by=None,
        on=date(2026, 3, 1), restored_on=None, started_at=datetime(2026, 3, 2, 5, tzinfo=UTC), started_by="complaint",
        ended="open", began_before=False, **REPORTED, seen=hours, estimated=hours,
        estimated_low=hours, estimated_high=None, stretches=(), why="",
    )  # fmt: skip
    unit = replace(a_unit(), outages=(outage,), time_zone="America/Denver")
    chart = time_line(unit, a_summary(unit))

    assert chart.lanes == ("parts", "visits", "no cold beer")
    visited = date(2026, 3, 2)
    assert chart.spells == (Spell(2, date(2026, 3, 1), None, "about 2.0 h, 2.0 h of it seen", until=visited),)
    shown = alternative(chart)
    assert "no cold beer: from 2026-03-01 and not known to have ended, about 2.0 h, 2.0 h of it seen." in shown


def test_a_unit_retired_or_seen_again_after_an_outage_without_an_end_is_not_drawn_warm_any_longer() -> None:
    hours, begun = Quantity(7200.0, "time", ""), datetime(2026, 3, 1, 5, tzinfo=UTC)
    outage = Outage(
        unit="GU-0007", visit=None, symptom="warm_pour", reported_at=begun, restored_at=None, restored_by=None,
        on=begun.date(), restored_on=None, started_at=begun, started_by="call", ended="open", began_before=False,
        **REPORTED, seen=hours, estimated=hours, estimated_low=hours, estimated_high=None, stretches=(), why="",
    )  # fmt: skip
    later = replace(outage, on=date(2026, 5, 1), started_at=datetime(2026, 5, 1, 5, tzinfo=UTC))
    unit = replace(a_unit(visits=0), outages=(outage,))

    for more, until in (({}, None), ({"retired_on": date(2026, 6, 1)}, date(2026, 6, 1))):
        assert time_line(replace(unit, **more), a_summary(unit)).spells[0].until == until
    both = replace(unit, outages=(outage, later), retired_on=date(2026, 6, 1))
    assert [each.until for each in time_line(both, a_summary(both)).spells] == [date(2026, 5, 1), date(2026, 6, 1)]


def test_an_outage_of_which_no_end_was_seen_is_drawn_as_long_as_it_is_counted() -> None:
    """It began in the year before, and 20 days and 5 hours of it lie in this one, from midnight in Denver."""
    none, most = Quantity(0.0, "time", ""), Quantity((20 * 24 + 5) * 3600.0, "time", "")
    outage = Outage(
        unit="GU-0007", visit="v", symptom=None, reported_at=None, restored_at=None, restored_by=None,
        on=date(2026, 1, 1), restored_on=None, started_at=datetime(2025, 12, 15, 7, tzinfo=UTC), started_by="reading",
        ended="taken_as_ended", began_before=True, **REPORTED, seen=none, estimated=most,
        estimated_low=none, estimated_high=most, stretches=(), why="",
    )  # fmt: skip
    unit = replace(a_unit(), outages=(outage,), time_zone="America/Denver")
    (spell,) = time_line(unit, a_summary(unit)).spells

    assert (spell.start, spell.end) == (date(2026, 1, 1), date(2026, 1, 21))


def test_after_a_call_that_nobody_answered_a_week_is_hatched_and_the_rest_up_to_the_retirement_dotted() -> None:
    """Called on 1 June at noon in Denver, half of a week estimated; taken out of service 19 days later."""
    none, half, most = (Quantity(days * 86400.0, "time", "") for days in (0, 3.5, 19))
    begun = datetime(2026, 6, 1, 18, tzinfo=UTC)
    outage = Outage(
        unit="GU-0007", visit=None, symptom="warm_pour", reported_at=begun, restored_at=None, restored_by=None,
        on=begun.date(), restored_on=None, started_at=begun, started_by="call", ended="left_service",
        began_before=False, **REPORTED, seen=none, estimated=half, estimated_low=none, estimated_high=most,
        stretches=(), why="",
    )  # fmt: skip
    unit = replace(a_unit(), outages=(outage,), time_zone="America/Denver")
    chart, soon = time_line(unit, a_summary(unit)), replace(outage, estimated_high=Quantity(5 * 86400.0, "time", ""))
    (within,) = time_line(replace(unit, outages=(soon,)), a_summary(unit)).spells

    assert (chart.spells[0].end, chart.spells[0].until) == (date(2026, 6, 8), date(2026, 6, 20))
    assert (within.end, within.until) == (date(2026, 6, 6), None)
    assert "no cold beer: from 2026-06-01 to 2026-06-20 at the latest, about 3.5 days" in alternative(chart)
    assert draw(chart).count('stroke-dasharray="1 2"') == 1


def test_what_a_visit_found_by_chance_is_dotted_back_to_when_it_can_have_begun() -> None:
    """Found on 10 June, 2 h seen; since 1 June at the earliest: 9 days and 2 h at the most."""
    seen, most = Quantity(7200.0, "time", ""), Quantity((9 * 24 + 2) * 3600.0, "time", "")
    begun, earliest = datetime(2026, 6, 10, 18, tzinfo=UTC), datetime(2026, 6, 1, 18, tzinfo=UTC)
    outage = Outage(
        unit="GU-0007", visit="v", symptom=None, reported_at=None, restored_at=None, restored_by=None,
        on=begun.date(), restored_on=None, started_at=begun, started_by="reading", ended="left_cold",
        began_before=False, begin_unknown=True, earliest_at=earliest, earliest_on=earliest.date(), seen=seen,
        estimated=seen, estimated_low=seen, estimated_high=most, stretches=(), why="",
    )  # fmt: skip
    unit = replace(a_unit(), outages=(outage,), time_zone="America/Denver")
    chart = time_line(unit, a_summary(unit))

    assert (chart.spells[0].since, chart.spells[0].start, chart.spells[0].end) == (
        earliest.date(), begun.date(), begun.date(),
    )  # fmt: skip
    assert "no cold beer: found on 2026-06-10 and possible since 2026-06-01, about 2.0 h" in alternative(chart)
    assert draw(chart).count('stroke-dasharray="1 2"') == 1


def test_only_what_came_near_its_limit_is_drawn() -> None:
    """5 °F (2.8 K) from the limit: judged."""
    near, far = (Quantity(number, "temperature_difference", "") for number in (7.7, 7.9))
    unit = a_unit()

    def titles(margin: Quantity) -> list[str]:
        points = tuple(replace(each, margin=margin) for each in unit.glycol.points)
        of = replace(unit, glycol=replace(unit.glycol, points=points))
        return [each.title for each in charts(of, a_summary(of))]

    assert titles(near) == ["Pour and bath", "Freezing margin of the glycol"]
    assert titles(far) == ["Pour and bath"]
