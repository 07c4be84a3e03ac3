"""Units and arrivals are counted as people count them; days out of service are not watched."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import pytest

from service.domain.bench.figures import figure
from service.domain.record.fleet import Component, Unit
from service.domain.record.pauses import Span
from service.domain.summary import fleet_sentences, letter, outage_totals, sentences, what_we_did
from service.domain.summary.document import Gap
from service.domain.summary.life import life_of
from service.domain.summary.lines import DaysOut, Refrigerant
from service.domain.summary.window import Window
from service.rendering.year import plan_strip, summary_pdf, summary_sentences
from tests.rendering.test_summary_documents import a_summary, a_unit

YEAR = Window(date(2026, 1, 1), date(2026, 12, 31), date(2027, 1, 1))
UNIT = Unit(
    tag="GU-1", site="quay", installed_on=date(2025, 1, 1), registered_on=date(2025, 1, 1),
    components=(Component(code="pump-1", kind="pump"),),
)  # fmt: skip
CAME_BACK = (a_unit("GU-1", visits=0), a_unit("GU-1", visits=2), a_unit("GU-2", visits=0))  # two stays of the first
OPEN = "No beer temperature at a tap is recorded."


def said(*units):
    return [gap.sentence for gap in sentences.gaps_of_all(units, YEAR, Refrigerant())]


def test_a_unit_with_two_stays_is_one_unit():
    assert said(*CAME_BACK)[0] == "Units without a visit in this period: 1 of 2."
    assert next(iter(what_we_did.done(CAME_BACK, 2026))) == "2 visits to 1 unit."
    assert next(iter(what_we_did.done(CAME_BACK[:2], 2026))) == "2 visits."

    twice = [replace(each, gaps=(Gap(unit="GU-1", sentence=OPEN),)) for each in CAME_BACK[:2]]
    assert f"GU-1: {OPEN}" in summary_pdf._gaps(a_summary(*twice))


def test_breakdowns_of_two_stays_are_those_of_one_unit():
    units = [SimpleNamespace(tag=tag, without_cold_beer=SimpleNamespace(outages=1)) for tag in ("A", "A", "B")]
    assert letter._where(units[:2], 2) == ""  # there is no other
    assert letter._where(units, 3) == "; two of them at A"
    units[2].without_cold_beer.outages = 0
    assert letter._where(units, 2) == "; both at A"


def test_one_arrival_at_several_units_is_one_visit():
    visits = [replace(a_unit(f"GU-{n}").visits[0], id=f"v{n}", attendance="a1" if n < 3 else None) for n in range(4)]
    visits[2] = replace(visits[2], kind="service_call")
    units = [a_unit(visit.unit) for visit in visits]
    units = [replace(unit, visits=(visit,)) for unit, visit in zip(units, visits, strict=True)]
    assert next(iter(what_we_did.done(units, 2026))) == "2 visits to 4 units, 1 of them because you called."


def test_a_pause_is_said():
    out = DaysOut(first=date(2026, 4, 1), last=date(2026, 9, 30), of="unit")
    unit = replace(CAME_BACK[0], out_of_service=(out,))
    assert "Units out of service for a part of this period: 1 of 2." in said(unit, CAME_BACK[2])
    sentence = "Out of service from 2026-04-01 to 2026-09-30."
    assert sentence in summary_sentences.of_unit(unit)
    assert plan_strip.quiet_table([unit], "us")["rows"][0][0] == f"GU-1, cleaned, cleaned. {sentence}"


def test_a_breakdown_of_which_no_time_is_known_did_not_last_0_h():
    instant = replace(
        outage_totals.total(()), outages=1
    )  # a complaint without a time, cold at the same visit without an end
    known = letter._cold_figure(instant, False, 1)
    assert (known.text, known.value) == ("not known", None)
    assert fleet_sentences.without_cold_beer(instant, ()) == "not known"
    assert summary_sentences._outages(replace(a_unit(), without_cold_beer=instant)) == (
        "1 breakdown; how long without cold beer is not known."
    )
    none = outage_totals.total(())
    shown = (letter._cold_figure(none, False, 1), letter._cold_figure(none, True, 1))  # where nobody came or called
    assert [(each.text, each.value) for each in shown] == [("0 h", 0.0), ("not known", None)]


def test_where_an_end_is_not_known_the_letter_says_at_least_what_was_seen():
    hours = {"seen": 4, "estimated": 52, "estimated_low": 4}
    known = {name: figure(3600.0 * count, "time") for name, count in hours.items()}
    open_end = replace(outage_totals.total(()), outages=3, end_unknown=1, estimated_high=None, **known)
    shown = letter._cold_figure(open_end, False, 2)
    assert (shown.text, shown.more) == (
        "at least 4.0 h",
        "about 2.2 days estimated as far as the record goes, the end of 1 not known",
    )
    assert summary_sentences._outages(replace(a_unit(), without_cold_beer=open_end)) == (
        "3 breakdowns: at least 4.0 h without cold beer, about 2.2 days estimated as far as the record goes, the end "
        "of 1 not known."
    )
    unseen = replace(open_end, seen=figure(0.0, "time"), estimated=figure(0.0, "time"))
    assert (letter._cold_figure(unseen, False, 2).text, letter._cold_figure(unseen, False, 2).more) == (
        "not known", "the end of 1 not known",
    )  # fmt: skip


def test_a_breakdown_that_goes_on_from_before_is_not_no_breakdown():
    days = date(2026, 1, 1), date(2026, 12, 31)
    carried = replace(outage_totals.total(()), carried_over=1)
    assert letter._breakdowns((), None, days, carried) == "No new breakdown in 2026."
    assert letter._breakdowns((), None, days, outage_totals.total(())) == "No breakdowns in 2026."


def test_nothing_is_promised_of_a_plan_where_there_is_none():
    assert summary_pdf._heads(a_summary())["no_work"] == "Nothing."


@pytest.mark.parametrize(
    ("spans", "days"),
    [
        ((), 365),
        ((("2026-04-01", "2026-09-30"),), 365 - 183),
        ((("2025-12-01", "2026-01-31"), ("2026-01-15", "2026-02-10")), 365 - 41),  # of which some lie over each other
        ((("2026-12-01", None),), 365 - 31),
        ((("2027-01-01", "2027-02-01"),), 365),
    ],
)
def test_days_out_of_service_are_not_watched(spans, days):
    away = [Span(date.fromisoformat(a), b and date.fromisoformat(b), date(2025, 6, 1), "unit") for a, b in spans]
    life = life_of(UNIT, (), YEAR, away)

    assert life.years(YEAR.first, YEAR.last) * 365.25 == pytest.approx(days)
    assert (
        sum(life.watches(date.fromordinal(n)) for n in range(YEAR.first.toordinal(), YEAR.plan_from.toordinal()))
        == days
    )
