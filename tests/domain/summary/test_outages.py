"""Time without cold beer, worked out by hand from what was seen and when."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from service.domain.quantities import parse_quantity
from service.domain.record.calls import Call
from service.domain.record.fleet import Site, Unit
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Complaint, Reading, Visit
from service.domain.summary.measured import GlycolYear
from service.domain.summary.outage_totals import total
from service.domain.summary.outages import outages, spells_of
from service.domain.summary.sentences import gaps
from service.domain.summary.window import window_of

SITE = Site(code="quay", customer="lantern", name="Quay", time_zone="America/Denver")
UNIT = Unit(tag="GU-1", site="quay", registered_on=date(2024, 1, 1))
NOW = datetime(2026, 12, 1, tzinfo=UTC)
SINCE_NEW_YEAR = 151 * 24 + 11  # hours from then in Denver to 2026-06-01T18:00Z
NO_GLYCOL = GlycolYear(
    points=(), least_margin=parse_quantity("5 deltaF", "temperature_difference"), least_margin_source="s", target=None
)


def at(text):
    return datetime.fromisoformat(f"{text}:00+00:00")


def a_visit(arrived, left=None, **more):
    return Visit(
        id=arrived, unit="GU-1", kind="service_call", arrived_at=at(arrived), left_at=left and at(left),
        posted_at=at(arrived), posted_by="test", time_zone=SITE.time_zone, site="quay", **more,
    )  # fmt: skip


def pour(text, when="as_found"):
    return Reading(quantity="beer_temperature_at_tap", value=parse_quantity(text, "temperature"), when=when, tap="1")


def complained(text=None):
    return Complaint(symptom="warm_pour", reported_at=text and at(text))


def a_call(received, **more):
    return Call(
        id=received, received_at=at(received), symptom="warm_pour", unit="GU-1", site="quay", posted_at=at(received),
        posted_by="test", **more,
    )  # fmt: skip


def of(*visits, year=2026, as_of=NOW, calls=(), unit=UNIT):
    log = UnitLog(unit=unit, site=SITE, all_visits=visits, calls=calls).as_of(as_of)
    return outages(spells_of(visits, log, as_of), window_of(year, as_of, SITE.time_zone), log)


def hours(outage):
    """(seen, estimated, at most)"""
    high = outage.estimated_high
    return outage.seen.value / 3600, outage.estimated.value / 3600, None if high is None else high.value / 3600


def test_a_warm_tap_and_a_unit_left_down_are_an_outage_although_nobody_complained():
    first = a_visit("2026-06-01T18:00", "2026-06-01T19:00", readings=(pour("61 degF"),), outcome="down")
    then = a_visit("2026-06-03T18:00", "2026-06-03T20:00", readings=(pour("58 degF"),), outcome="running")

    (found,) = of(first, then)

    assert (found.started_by, found.symptom, found.ended) == ("reading", None, "left_cold")
    assert hours(found) == (1 + 2, 12 + 1 + 47 + 2, SINCE_NEW_YEAR + 50)  # 12 h: half of the day before it was found


def test_an_outage_that_a_visit_finds_by_chance_began_after_the_last_sign_that_it_was_cold():
    good = a_visit("2026-05-01T18:00", "2026-05-01T19:00", outcome="running")
    warm = a_visit("2026-06-01T18:00", "2026-06-01T19:00", readings=(pour("61 degF"),), outcome="running")

    (found,) = of(good, warm)
    (soon,) = of(replace(good, left_at=at("2026-06-01T12:00")), warm)

    assert (found.begin_unknown, found.earliest_on, found.on) == (True, date(2026, 5, 1), date(2026, 6, 1))
    assert hours(found) == (1, 12 + 1, 30 * 24 + 23 + 1)
    assert hours(soon) == (1, 3 + 1, 6 + 1)
    assert total([found, soon]).begin_unknown == 2


def test_no_outage_began_before_its_unit_was_installed_or_another_one_ended():
    warm = a_visit("2026-06-01T18:00", "2026-06-01T19:00", readings=(pour("61 degF"),), outcome="recovering")
    again = a_visit("2026-06-10T18:00", "2026-06-10T19:00", readings=(pour("61 degF"),), outcome="running")

    first, then = of(warm, again, unit=replace(UNIT, installed_on=date(2026, 5, 31)))

    assert hours(first) == (1, 12 + 1 + 12, 24 + 12 + 1 + 24)  # from midnight in Denver, 06:00 UTC
    assert hours(then) == (1, 12 + 1, 8 * 24 - 1 + 1)  # after the day that ends the first one


def test_an_outage_of_a_unit_taken_out_of_service_ends_there_at_the_latest():
    """The day of retirement ends at 06:00 UTC; a unit left down stood still, of a call a week says something."""
    unit = replace(UNIT, retired_on=date(2026, 6, 20))
    down = a_visit("2026-06-01T18:00", "2026-06-01T19:00", complaint=complained("2026-06-01T18:00"), outcome="down")
    waiting = replace(down, outcome="waiting_for_parts")

    (stood,), (waited,) = of(down, unit=unit), of(waiting, unit=unit)
    (called,) = of(calls=(a_call("2026-06-01T19:00"),), unit=unit)

    left = 19 * 24 + 11
    assert (stood.ended, stood.restored_at, hours(stood)) == ("left_service", None, (1, 1 + left, 1 + left))
    assert hours(waited) == (0, (left + 1) / 2, left + 1)
    assert hours(called) == (0, 7 * 12, left)
    assert [each.end_unknown for each in map(total, ([stood], [waited], [called]))] == [0, 0, 0]
    log = UnitLog(unit=UNIT, site=SITE, all_visits=(down,)).as_of(NOW)
    (moved,) = spells_of((down,), log, NOW, left_at=at("2026-06-10T06:00"))
    assert (moved.ended, moved.ends) == ("left_service", at("2026-06-10T06:00"))
    assert of(down, unit=replace(UNIT, retired_on=date(2026, 12, 2)))[0].ended == "open"  # after what is known


def test_an_outage_is_said_to_have_gone_on_after_the_year_only_where_somebody_saw_it_then():
    """In Denver the year ends at 07:00 UTC; the call says nothing of the next year, nor does beer found cold in it."""
    call = a_call("2025-12-20T19:00")
    cold = a_visit("2026-01-05T19:00", readings=(pour("36 degF"),))
    warm = replace(cold, readings=(pour("50 degF"),), left_at=at("2026-01-05T20:00"), outcome="running")
    down = a_visit("2025-12-20T18:00", "2025-12-20T19:00", complaint=complained("2025-12-20T18:00"), outcome="down")
    retired = replace(UNIT, retired_on=date(2026, 2, 1))

    (left,) = of(calls=(call,), unit=retired, year=2025)
    (found,) = of(down, cold, year=2025)
    (went_on,) = of(down, warm, year=2025)

    assert "It may have gone on after this period" in left.why
    assert "It may have gone on after this period" in found.why
    assert "It went on after this period" in went_on.why


def test_warm_beer_that_nobody_reported_is_said_to_have_begun_at_an_unknown_time():
    warm = a_visit("2026-06-01T18:00", "2026-06-01T19:00", readings=(pour("61 degF"),), outcome="running")
    called = replace(warm, id="2", complaint=complained("2026-06-01T12:00"))

    for visit, count in ((warm, 1), (called, 0)):
        made = gaps("GU-1", visits=[visit], found=of(visit), beer=(), glycol=NO_GLYCOL, condenser=())
        said = [
            each.sentence
            for each in made
            if each.sentence.endswith("which nobody had reported: since when is not known.")
        ]
        assert len(said) == count


def test_every_call_that_a_visit_answers_says_that_it_was_warm():
    """25 h lie between the first call and the arrival, but 5 and 20 between one sign and the next."""
    calls = (a_call("2026-03-01T15:00"), a_call("2026-03-01T20:00"), a_call("2026-03-02T18:30"))
    visit = a_visit("2026-03-02T16:00", "2026-03-02T18:00", outcome="running", calls=tuple(call.id for call in calls))

    (found,) = of(visit, calls=calls)

    assert hours(found) == (27, 27, 27)
    assert hours(*of(replace(visit, calls=visit.calls[:1]), calls=calls[:1])) == (2, 27, 27)


def test_a_visit_that_does_not_say_how_it_left_the_unit_proves_nothing():
    first = a_visit("2026-03-01T18:00", "2026-03-01T19:00", complaint=complained("2026-03-01T16:00"))
    later = a_visit("2026-08-01T18:00", "2026-08-01T19:00", outcome="running")

    (found,) = of(first, later)

    assert (found.ended, found.restored_at) == ("taken_as_ended", None)
    assert hours(found) == (2, 2 + 0.5 + 12, 2 + 1 + 24)


def test_a_complaint_months_later_is_another_outage():
    first = a_visit(
        "2026-03-01T18:00", "2026-03-01T19:00", complaint=complained("2026-03-01T16:00"), outcome="recovering"
    )
    later = a_visit("2026-08-01T18:00", "2026-08-01T19:00", complaint=complained("2026-08-01T17:00"), outcome="running")

    found = of(first, later)

    assert [each.on for each in found] == [date(2026, 3, 1), date(2026, 8, 1)]
    assert hours(found[1]) == (2, 2, 2)


def test_two_calls_before_one_restoration_are_one_outage():
    calls = (a_call("2026-06-01T08:00"), a_call("2026-06-02T06:00"))
    visit = a_visit("2026-06-02T09:00", "2026-06-02T11:00", calls=(calls[1].id,), outcome="running")

    (found,) = of(visit, calls=calls)

    assert (found.started_at, found.started_by) == (at("2026-06-01T08:00"), "call")
    assert hours(found) == (27, 27, 27)


@pytest.mark.parametrize(("state", "count"), [("open", 1), ("cancelled", 0)])
def test_a_call_that_nobody_answered_is_an_outage_with_an_unknown_end_unless_cancelled(state, count):
    found = of(calls=(a_call("2026-06-01T08:00", state=state),))

    assert [(each.ended, hours(each)) for each in found] == [("open", (0, 0, None))] * count
    assert total(found).end_unknown == count


def test_a_call_that_nobody_answered_says_nothing_of_what_is_seen_a_week_later():
    """The second call came on the seventh day or later; so did a visit that found it warm, or left it running."""
    first, again = a_call("2026-03-10T15:00"), a_call("2026-11-11T15:00")
    answered = a_visit("2026-11-11T17:00", "2026-11-11T18:00", outcome="running", calls=(again.id,))
    warm = a_visit("2026-11-11T17:00", "2026-11-11T18:00", outcome="running", readings=(pour("61 degF"),))
    unasked = a_visit("2026-11-11T17:00", "2026-11-11T18:00", outcome="running")

    assert [hours(each) for each in of(answered, calls=(first, again))] == [(0, 0, None), (3, 3, 3)]
    assert [hours(each) for each in of(warm, calls=(first,))] == [(0, 0, None), (1, 13, (11 - 10 + 245) * 24 + 3)]
    assert [hours(each) for each in of(unasked, calls=(first,))] == [(0, 0, None)]
    within = replace(first, received_at=at("2026-11-04T17:00"))
    assert [hours(each) for each in of(warm, calls=(within,))] == [(1, 169, 169)]


def test_a_call_answered_after_weeks_is_one_outage_with_its_visit():
    call = a_call("2026-03-01T15:00")

    (found,) = of(a_visit("2026-03-15T15:00", "2026-03-15T16:00", outcome="running", calls=(call.id,)), calls=(call,))

    assert hours(found) == (1, 14 * 24 + 1, 14 * 24 + 1)


def test_a_unit_left_down_is_down_until_another_visit_leaves_it_running():
    first = a_visit("2026-06-01T18:00", "2026-06-01T19:00", complaint=complained("2026-06-01T17:00"), outcome="down")
    then = a_visit("2026-06-02T15:00", "2026-06-02T16:00", outcome="running")

    (found,) = of(first, then)

    assert (found.ended, found.restored_at, hours(found)) == ("left_cold", at("2026-06-02T16:00"), (2, 23, 23))


def test_advice_by_phone_after_which_nobody_complains_ends_it_within_a_day():
    advised = a_call("2026-06-01T08:00", state="answered", how="phone_advice", at=at("2026-06-01T09:00"))

    (found,) = of(calls=(advised,))

    assert (found.ended, hours(found)) == ("taken_as_ended", (0, 12.5, 25))


def test_an_outage_over_new_year_counts_in_each_year_with_its_own_hours():
    """In Denver the year ends at 07:00 UTC."""
    complaint = complained("2026-01-01T03:00")
    visit = a_visit("2026-01-01T15:00", "2026-01-01T17:00", complaint=complaint, outcome="running")

    before, after = of(visit, year=2025), of(visit)

    assert (hours(before[0]), before[0].began_before, before[0].restored_at) == ((4, 4, 4), False, None)
    assert (hours(after[0]), after[0].began_before, after[0].on) == ((10, 10, 10), True, date(2026, 1, 1))
    assert [(total(each).outages, total(each).carried_over) for each in (before, after)] == [(1, 0), (0, 1)]


def test_a_former_year_stays_as_it_is_whatever_comes_later():
    first = a_visit("2025-06-01T18:00", "2025-06-01T19:00", complaint=complained(), outcome="down")
    later = a_visit("2026-06-01T18:00", "2026-06-01T19:00", outcome="running")

    assert [hours(each) for each in of(first, year=2025)] == [(1, 1, None)]
    assert [each.seen.value for each in of(first, later, year=2025)] == [3600]


def test_beer_found_cold_ends_it_at_an_unknown_time_before():
    first = a_visit("2026-06-01T18:00", "2026-06-01T19:00", readings=(pour("50 degF"),), outcome="down")
    then = a_visit("2026-06-02T19:00", readings=(pour("36 degF"),))

    (found,) = of(first, then)

    assert (found.ended, found.restored_by, hours(found)) == (
        "found_cold",
        then.id,
        (1, 12 + 1 + 12, SINCE_NEW_YEAR + 25),
    )


def test_a_pour_left_cold_decides_where_the_outcome_does_not():
    one = a_visit(
        "2026-06-01T18:00", "2026-06-01T19:00", readings=(pour("50 degF"), pour("37 degF", "as_left")),
        outcome="recovering",
    )  # fmt: skip

    (found,) = of(one)
    (down,) = of(replace(one, outcome="down"))

    assert (found.ended, down.ended) == ("left_cold", "open")
