"""Where a unit stood: which recorded locations count, and the stays that they make. Days and instants by hand."""

from datetime import UTC, date, datetime, timedelta

import pytest

from service.domain.record.fleet import Site
from service.domain.record.locations import Location, Stay, in_force, located, location_at, stays, stays_by_site
from service.domain.record.pauses import Pause, PauseText
from service.domain.record.visits import Visit

SECOND = timedelta(seconds=1)
QUAY = Site(code="quay", customer="lantern", name="Quay", time_zone="America/Denver")
PIER = Site(code="pier", customer="lantern", name="Pier", time_zone="America/Denver")
MILL = Site(code="mill", customer="anchor", name="Mill", time_zone="Europe/Berlin")


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def location(site: Site, day: str | None = None, reason: str = "x", closures=()) -> Location:
    return Location(site=site, starts_on=day and date.fromisoformat(day), reason=reason, closures=closures)


def closed(first: str, last: str | None) -> tuple[Pause, ...]:
    days = {"first": date.fromisoformat(first), "last": last and date.fromisoformat(last)}
    return (Pause(number=1, texts=(PauseText(**days, reason="x", at=at("2026-01-02T12:00"), by="rhea"),)),)


FIRST, TO_PIER, TO_MILL = location(QUAY), location(PIER, "2026-03-02"), location(MILL, "2026-06-15")


def test_of_two_locations_from_one_day_the_one_recorded_later_counts() -> None:
    recorded = [FIRST, TO_MILL, location(PIER, "2026-06-15", "put right"), TO_PIER, location(MILL, "2026-03-02")]
    assert [(each.site.code, each.starts_on) for each in in_force(recorded)] == [
        ("quay", None),
        ("mill", date(2026, 3, 2)),
        ("pier", date(2026, 6, 15)),
    ]


def test_a_location_at_the_site_where_it_stands_already_is_none() -> None:
    assert in_force([FIRST, location(QUAY, "2026-03-02"), TO_MILL, location(MILL, "2026-07-01")]) == (FIRST, TO_MILL)
    back = location(QUAY, "2026-07-01")
    assert in_force([back, TO_MILL, FIRST]) == (FIRST, TO_MILL, back)


def test_a_location_is_in_force_from_the_beginning_of_its_day_there() -> None:
    begins = at("2026-06-14T22:00")  # 15 June in Berlin
    assert TO_MILL.begins == begins
    places = (FIRST, TO_PIER, TO_MILL)
    assert [location_at(places, each) for each in (begins - SECOND, begins)] == [TO_PIER, TO_MILL]
    assert location_at(places, at("1900-01-01T00:00")) == FIRST
    assert location_at((TO_PIER, TO_MILL), at("2020-01-01T00:00")) == TO_PIER  # before the first begins, the first


def test_stays_are_those_at_one_customer_and_end_when_the_next_begins() -> None:
    lantern, anchor = stays((FIRST, TO_PIER, TO_MILL))
    assert (lantern.locations, lantern.customer, lantern.first_day) == ((FIRST, TO_PIER), "lantern", None)
    assert (lantern.ends, lantern.last_day) == (at("2026-06-14T22:00"), date(2026, 6, 14))  # 16:00 in Denver
    assert (anchor.locations, anchor.customer, anchor.first_day) == ((TO_MILL,), "anchor", date(2026, 6, 15))
    assert (anchor.ends, anchor.last_day) == (None, None)
    assert [lantern.holds(at(each)) for each in ("2026-06-14T21:59", "2026-06-14T22:00")] == [True, False]
    assert [anchor.holds(at(each)) for each in ("2026-06-14T21:59", "2026-06-14T22:00")] == [False, True]
    assert anchor.holds(at("2199-06-15T00:00"))


def test_a_stay_ends_with_the_day_before_the_move_where_both_have_one_clock() -> None:
    quay, pier, mill = stays_by_site((FIRST, TO_PIER, TO_MILL))
    assert [each.locations for each in (quay, pier, mill)] == [(FIRST,), (TO_PIER,), (TO_MILL,)]
    assert (quay.last_day, pier.first_day) == (date(2026, 3, 1), date(2026, 3, 2))


@pytest.mark.parametrize(
    ("first", "last", "days"),
    [
        ("2026-02-20", "2026-03-05", ("2026-03-02", "2026-03-05")),
        ("2026-03-10", "2026-03-20", ("2026-03-10", "2026-03-20")),
        ("2026-06-10", "2026-07-01", ("2026-06-10", "2026-06-14")),
        ("2026-02-20", "2026-03-02", ("2026-03-02", "2026-03-02")),
        ("2026-06-14", "2026-06-20", ("2026-06-14", "2026-06-14")),
        ("2026-02-20", "2026-03-01", None),
        ("2026-06-15", "2026-06-20", None),
    ],
)
def test_closures_count_in_the_days_of_a_stay(first: str, last: str, days: tuple[str, str] | None) -> None:
    _, pier, _ = stays_by_site((FIRST, location(PIER, "2026-03-02", closures=closed(first, last)), TO_MILL))
    assert [(f"{each.first}", f"{each.last}") for each in pier.closed()] == ([days] if days else [])


def test_a_closure_and_a_stay_without_an_end_are_open() -> None:
    (open_end,) = Stay((location(QUAY, closures=closed("2026-02-20", None)),)).closed()
    assert (open_end.first, open_end.last, open_end.of) == (date(2026, 2, 20), None, "site")
    (ends,) = Stay((location(QUAY, closures=closed("2026-02-20", "2026-02-21")),)).closed()
    assert ends.last == date(2026, 2, 21)


@pytest.mark.parametrize(
    ("year", "as_of", "site"),
    [
        (2025, "2027-01-01T12:00", "quay"),
        (2026, "2027-01-01T12:00", "pier"),
        (2026, "2026-03-02T06:59", "quay"),  # 2 March begins at 07:00 UTC in Denver
        (2026, "2026-03-02T07:00", "pier"),
    ],
)
def test_the_site_of_a_stay_in_a_year_is_the_last_that_had_begun(year: int, as_of: str, site: str) -> None:
    found = Stay((FIRST, TO_PIER)).site_in(year, at(as_of))
    assert found is not None
    assert found.site.code == site


def test_a_stay_that_begins_in_a_later_year_has_no_site_in_this_one() -> None:
    assert Stay((TO_MILL,)).site_in(2025, at("2027-01-01T12:00")) is None
    assert Stay((location(MILL, "2026-12-31"),)).site_in(2026, at("2027-01-01T12:00")) is not None
    assert Stay((location(MILL, "2027-01-01"),)).site_in(2026, at("2027-06-01T12:00")) is None


def test_a_visit_has_the_site_customer_and_clock_in_force_at_its_arrival() -> None:
    visit = Visit(
        id="a", unit="GU-1", kind="maintenance", arrived_at=at("2026-06-14T22:00"), posted_at=at("2026-06-15T09:00"),
        posted_by="rhea", time_zone="America/Denver", site="quay", customer="lantern",
    )  # fmt: skip
    found = located(visit, (FIRST, TO_PIER, TO_MILL))
    assert (found.site, found.customer, found.time_zone, found.day) == (
        "mill",
        "anchor",
        "Europe/Berlin",
        date(2026, 6, 15),
    )
