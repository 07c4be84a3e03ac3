"""A unit's log cut by either of its two times: what had happened, and what had been recorded, by an instant."""

import json
from dataclasses import replace
from datetime import date, datetime

import pytest

from service.domain.quantities import parse_quantity
from service.domain.record.calls import Call
from service.domain.record.dated_facts import FactsChange, FactsHistory
from service.domain.record.fleet import Component, Site, Unit
from service.domain.record.locations import Location
from service.domain.record.pauses import Pause, PauseText
from service.domain.record.tags import FormerTag
from service.domain.record.unit_log import SettingChange, UnitLog, readings_at
from service.domain.record.visits import Complaint, Correction, Reading, Replacement, TaskResult, Visit, Void

QUAY = Site(code="quay", customer="lantern", name="Quay", time_zone="America/Denver")
MILL = Site(code="mill", customer="anchor", name="Mill", time_zone="America/New_York", care_from=date(2026, 6, 10))
UNIT = Unit(
    tag="GU-1",
    site="quay",
    registered_on=date(2026, 1, 1),
    components=(Component(code="fan-1", kind="condenser_fan"),),
)


def at(text: str) -> datetime:
    """An instant of 2026 from "03-02 16:00", UTC."""
    return datetime.fromisoformat(f"2026-{text}:00+00:00")


def a_visit(key: str, arrived: str, **more) -> Visit:
    facts = {"unit": "GU-1", "kind": "maintenance", "posted_at": at(arrived), "posted_by": "rhea"}
    facts |= {"site": "quay", "customer": "lantern", "time_zone": "America/Denver"}
    return Visit(id=key, arrived_at=at(arrived), **{**facts, **more})


def a_log(*visits: Visit, **more) -> UnitLog:
    return UnitLog(**{"unit": UNIT, "site": QUAY, "all_visits": visits, **more})


def closure(first: date, last: date | None, recorded: str = "01-02 12:00") -> Pause:
    text = PauseText(first=first, last=last, reason="x", at=at(recorded), by="rhea")
    return Pause(number=1, texts=(text,))


def ids(visits) -> list[str]:
    return [visit.id for visit in visits]


def test_what_happened_by_an_instant_is_what_had_begun_at_it() -> None:
    log = a_log(a_visit("a", "03-02 16:00"), a_visit("b", "03-05 16:00"))
    assert ids(log.visits) == ["a", "b"]
    assert ids(log.as_of(at("03-05 16:00")).visits) == ["a", "b"]
    assert ids(log.as_of(at("03-05 15:59")).visits) == ["a"]
    assert ids(log.as_of(at("03-02 16:00")).as_of(at("03-09 16:00")).visits) == ["a"]  # what was cut stays cut
    assert log.as_of(at("03-05 05:00")).last_day == date(2026, 3, 4)  # 22:00 in Denver


def test_a_voided_visit_stays_in_the_log_and_does_not_count() -> None:
    log = a_log(a_visit("a", "03-02 16:00", void=Void(reason="x", by="rhea", at=at("03-03 08:00")), version=2))
    assert (ids(log.all_visits), ids(log.visits)) == (["a"], [])
    before = log.known_at(at("03-03 07:59"))
    assert (ids(before.visits), before.visits[0].version) == (["a"], 1)
    assert ids(log.known_at(at("03-03 08:00")).visits) == []


def test_a_visit_is_known_from_the_instant_at_which_it_was_posted() -> None:
    log = a_log(a_visit("late", "03-02 16:00", posted_at=at("03-20 09:00")), a_visit("b", "03-05 16:00"))
    assert ids(log.known_at(at("03-20 08:59")).visits) == ["b"]
    assert ids(log.known_at(at("03-20 09:00")).visits) == ["late", "b"]


def test_a_correction_is_known_from_its_own_instant() -> None:
    former = {"id": "a", "kind": "maintenance", "arrived_at": "2026-03-02T16:00:00Z", "outcome": "down", "version": 1}
    former |= {"posted_at": "2026-03-02T16:00:00Z", "posted_by": "rhea"}
    made = Correction(
        number=1, at=at("03-04 10:00"), by="rhea", why="x", changes='{"outcome":"running"}', former=json.dumps(former)
    )
    log = a_log(a_visit("a", "03-02 16:00", outcome="running", version=2), corrections={"a": (made,)})
    before, after = log.known_at(at("03-04 09:59")), log.known_at(at("03-04 10:00"))
    assert (before.visits[0].outcome, before.corrections) == ("down", {"a": ()})
    assert (after.visits[0].outcome, after.corrections) == ("running", {"a": (made,)})


def test_a_visit_recorded_at_the_wrong_unit_was_known_there_until_it_was_moved() -> None:
    moved = Correction(
        number=1, at=at("03-04 10:00"), by="rhea", why="x", changes="{}", from_unit="GU-1",
        former='{"id":"a","kind":"maintenance","arrived_at":"2026-03-02T16:00:00Z","posted_at":"2026-03-02T16:00:00Z",'
        '"posted_by":"rhea","version":1}',
    )  # fmt: skip
    away = a_visit("a", "03-02 16:00", unit="GU-2", site="mill", customer="anchor", time_zone="America/New_York")
    log = a_log(a_visit("b", "03-01 16:00"), moved_away=(away,), corrections={"a": (moved,)})
    before, after = log.known_at(at("03-04 09:59")), log.known_at(at("03-04 10:00"))
    assert (ids(before.visits), ids(before.moved_away)) == (["b", "a"], [])
    assert (before.visits[1].unit, before.visits[1].site, before.visits[1].day) == ("GU-1", "quay", date(2026, 3, 2))
    assert (before.visits[1].customer, before.visits[1].time_zone) == ("lantern", "America/Denver")
    assert (ids(after.visits), ids(after.moved_away)) == (["b"], ["a"])
    assert ids(log.known_at(at("03-02 15:59")).moved_away) == []


def test_calls_tags_and_settings_are_known_from_their_own_instants() -> None:
    call = Call(id="c", received_at=at("03-01 08:00"), symptom="noisy", posted_at=at("03-04 10:00"), posted_by="rhea")
    tag = FormerTag(tag="GU-9", at=at("03-04 10:00"), by="rhea")
    changes = (
        SettingChange("pump_check", at("03-04 10:00"), {"interval": "30 days"}, {"interval": "60 days"}),
        SettingChange("pump_check", at("03-09 10:00"), {"interval": "60 days"}, {"interval": "90 days"}),
    )
    log = a_log(
        calls=(call,),
        former_tags=(tag,),
        settings={"pump_check": {"interval": "90 days"}, "strainer_clean": {"applies": False}},
        setting_changes=changes,
        pauses=(closure(date(2026, 4, 1), None, "03-04 10:00"),),
        closures=(closure(date(2026, 5, 1), None, "03-04 10:00"),),
    )
    before, after = log.known_at(at("03-04 09:59")), log.known_at(at("03-04 10:00"))
    assert (before.calls, before.former_tags, before.setting_changes) == ((), (), ())
    assert (after.calls, after.former_tags, after.setting_changes) == ((call,), (tag,), changes[:1])
    assert (before.pauses, before.closures) == ((), ())
    assert (after.pauses, after.closures) == (log.pauses, log.closures)
    intervals = [each.settings["pump_check"]["interval"] for each in (before, after, log.known_at(at("03-09 10:00")))]
    assert intervals == ["30 days", "60 days", "90 days"]
    assert before.settings["strainer_clean"] == {"applies": False}


@pytest.fixture
def moved() -> UnitLog:
    """Moved from the quay to the mill on 15 June, as was recorded on 1 June; both sites closed for weeks."""
    closed = (closure(date(2026, 6, 8), date(2026, 6, 30)),)
    first = Location(site=QUAY, closures=closed, customer_ended_on=date(2027, 1, 1))
    second = Location(
        site=MILL,
        starts_on=date(2026, 6, 15),
        at=at("06-01 12:00"),
        by="rhea",
        customer_care_from=date(2026, 6, 12),
        closures=(closure(date(2026, 6, 1), date(2026, 6, 20), "06-02 12:00"),),
    )
    return a_log(
        a_visit("a", "06-14 16:00"),
        a_visit("b", "06-15 16:00", site="mill", customer="anchor", time_zone="America/New_York"),
        unit=UNIT,
        site=QUAY,
        moves=(first, second),
    )


def test_a_unit_that_was_moved_stands_at_each_site_in_its_days(moved: UnitLog) -> None:
    assert (moved.site_on(date(2026, 6, 14)), moved.site_on(date(2026, 6, 15))) == (QUAY, MILL)
    # 15 June begins at 04:00 UTC in New York
    before, after = moved.standing_at(at("06-15 03:59")), moved.standing_at(at("06-15 04:00"))
    assert (before.site, before.unit.site, before.time_zone) == (QUAY, "quay", "America/Denver")
    assert (before.care.care_from, before.care.out_from) == (None, date(2027, 1, 1))
    assert (after.site, after.unit.site, after.time_zone) == (MILL, "mill", "America/New_York")
    assert (after.care.care_from, after.care.out_from) == (date(2026, 6, 10), None)
    assert moved.as_of(at("06-14 12:00")).site == QUAY
    assert moved.as_of(at("06-16 12:00")).closures == moved.moves[1].closures


def test_the_closures_of_a_site_count_while_the_unit_stands_there(moved: UnitLog) -> None:
    quay, mill = moved.care.away
    assert (quay.first, quay.last) == (date(2026, 6, 8), date(2026, 6, 14))
    assert (mill.first, mill.last) == (date(2026, 6, 15), date(2026, 6, 20))
    (cut,) = moved.as_of(at("06-14 12:00")).care.away
    assert (cut.first, cut.last) == (date(2026, 6, 8), date(2026, 6, 30))  # of the move nothing had happened
    assert len(moved.as_of(at("06-15 04:00")).care.away) == 2
    assert moved.as_of(at("06-07 12:00")).care.away == ()


def test_a_move_and_its_closures_are_known_from_their_own_instants(moved: UnitLog) -> None:
    before, after = moved.known_at(at("06-01 11:59")), moved.known_at(at("06-01 12:00"))
    assert (len(before.moves), len(after.moves), after.moves[1].closures) == (1, 2, ())
    late = moved.known_at(at("06-15 16:00"))
    assert [visit.site for visit in late.visits] == ["quay", "mill"]
    assert late.site == MILL
    assert moved.as_of(at("06-14 12:00")).known_at(at("06-16 12:00")).site == QUAY


def test_a_visit_stands_with_the_site_that_was_known_then(moved: UnitLog) -> None:
    """Posted before the move was recorded, which put it at the mill."""
    log = a_log(
        a_visit("b", "06-15 16:00", site="mill", customer="anchor", posted_at=at("05-01 09:00")), moves=moved.moves
    )
    assert [visit.site for visit in log.known_at(at("06-01 11:59")).all_visits] == ["quay"]


def test_dated_facts_are_those_of_the_day_and_of_the_registration_before_it() -> None:
    facts = FactsHistory(
        sites={
            "quay": (
                FactsChange(at("01-01 20:00"), {}),
                FactsChange(at("05-04 15:00"), {"surroundings": "greasy"}),
            )
        }
    )
    log = a_log(
        site=replace(QUAY, surroundings="dusty"),
        facts=facts,
    )
    assert log.facts_on(date(2026, 5, 4)).site.surroundings == "greasy"
    assert log.facts_on(date(2026, 5, 5)).site.surroundings == "dusty"
    assert log.facts_at(at("05-04 14:59")).site.surroundings == "greasy"
    assert log.facts_at(at("05-04 15:00")).site.surroundings == "dusty"
    assert log.facts_on(date(2025, 5, 4)).site.surroundings == "greasy"  # first entered on the day of registration
    assert log.known_at(at("05-04 14:59")).site.surroundings == "greasy"
    assert a_log().facts_on(date(2026, 5, 4)).site == QUAY


@pytest.mark.parametrize(
    ("unit", "site", "customer", "begins", "ends"),
    [
        (4, 3, 2, 4, 2),  # months: the unit's own care outranks its site's; whatever ends first ends it
        (None, 3, 2, 3, 2),
        (None, 2, 3, 2, 2),
        (4, None, None, 4, 4),
        (None, None, 2, 2, 2),
        (None, None, None, None, None),
    ],
)
def test_our_care_begins_with_what_is_nearest_to_the_unit_and_ends_with_what_ends_first(
    unit, site, customer, begins, ends
) -> None:
    unit, site, customer, begins, ends = (
        month and date(2026, month, 1) for month in (unit, site, customer, begins, ends)
    )
    care = a_log(
        unit=replace(UNIT, care_from=unit, retired_on=unit),
        site=replace(QUAY, care_from=site, ended_on=site),
        customer_care_from=customer,
        customer_ended_on=customer,
    ).care
    assert (care.care_from, care.out_from) == (begins, ends)


def a_call(key: str, symptom: str, **more) -> Call:
    frame = {"received_at": at("03-02 08:00"), "posted_at": at("03-02 08:00"), "posted_by": "rhea"}
    return Call(id=key, symptom=symptom, words=key, **frame, **more)


@pytest.mark.parametrize(
    ("answered", "words"),
    [
        ((), "own"),
        (("noisy",), "noisy"),
        (("noisy", "leak"), "noisy"),
        (("noisy", "leak", "warm", "warmer"), "warm"),  # no cold beer comes first
        (("elsewhere", "leak"), "leak"),
        (("elsewhere",), "own"),
    ],
)
def test_the_complaint_of_a_visit_is_the_first_call_that_it_answers(answered, words) -> None:
    calls = (
        a_call("elsewhere", "warm_pour", site="mill"),
        a_call("noisy", "noisy", site="quay"),
        a_call("other", "warm_pour", site="quay"),  # another visit answers it
        a_call("leak", "leak"),
        a_call("warm", "warm_pour"),
        a_call("warmer", "frozen"),
    )
    visit = a_visit("a", "03-02 16:00", calls=answered, complaint=Complaint(symptom="other", words="own"))
    assert a_log(visit, calls=calls).complaint_of(visit).words == words


def test_replacements_count_from_their_own_days() -> None:
    def part(on: str | None = None, **more) -> Replacement:
        return Replacement(component="fan-1", reason="failed", condition="seized", evidence="seen", on=on, **more)

    log = a_log(
        a_visit("a", "03-02 16:00", replacements=(part(),)),
        a_visit("void", "03-03 16:00", replacements=(part(),), void=Void(reason="x", by="rhea", at=at("03-04 16:00"))),
        a_visit("b", "03-09 16:00", replacements=(part("2026-02-01"), part(by="others"))),
        a_visit("c", "03-10 16:00", by="others", replacements=(replace(part(), component="gone-1"),)),
    )
    assert [(each.on, each.kind, each.visit, each.by) for each in log.replaced()] == [
        (date(2026, 2, 1), "condenser_fan", "b", "us"),
        (date(2026, 3, 2), "condenser_fan", "a", "us"),
        (date(2026, 3, 9), "condenser_fan", "b", "others"),
        (date(2026, 3, 10), "unknown", "c", "others"),
    ]
    by_then = log.as_of(at("03-02 16:00")).replaced()  # what was reported later for a day before
    assert [each.on for each in by_then] == [date(2026, 2, 1), date(2026, 3, 2)]


def test_a_reading_without_an_instant_was_taken_at_the_arrival_or_the_leaving() -> None:
    def read(when: str, instant: datetime | None = None, quantity: str = "bath_temperature") -> Reading:
        return Reading(quantity=quantity, value=parse_quantity("28 degF", "temperature"), when=when, at=instant)

    found, left, timed = read("as_found"), read("as_left"), read("as_left", at("03-02 17:00"))
    ambient = read("as_found", quantity="ambient_temperature")
    visit = a_visit("a", "03-02 16:00", left_at=at("03-02 18:00"), readings=(found, left, timed, ambient))
    hours = [each.at.hour for each in readings_at(visit)]
    assert hours == [16, 18, 17, 16]
    assert [each.reading for each in readings_at(visit, "ambient_temperature")] == [ambient]
    assert [each.at.hour for each in readings_at(replace(visit, left_at=None), "bath_temperature")] == [16, 16, 17]
    assert list(a_log(visit).readings()) == readings_at(visit)
    assert [each.as_found for each in readings_at(visit)] == [True, False, False, True]
    assert readings_at(visit)[0].place == ("bath_temperature", None, None)


def test_of_two_visits_of_one_instant_the_later_posted_comes_last() -> None:
    assert a_log().with_visit(a_visit("a", "03-02 16:00")).version == 1
    log = a_log(a_visit("a", "03-02 16:00"), a_visit("c", "03-09 16:00"), version=4)
    more = log.with_visit(a_visit("b", "03-02 16:00"))
    assert (ids(more.all_visits), more.version) == (["a", "b", "c"], 5)
    assert ids(log.with_visit(a_visit("b", "03-02 15:59")).all_visits) == ["b", "a", "c"]


def test_what_was_performed_is_named_by_the_day_at_the_site() -> None:
    task = TaskResult(task="pump_check", result="not_done", reason="no access")
    (done,) = a_log(a_visit("a", "03-02 05:00", by="others", tasks=(task,))).performed()  # 22:00 on the 1st
    assert done == ("pump_check", date(2026, 3, 1), "not_done", None, "no access", "a", "others", None)


def test_the_elevation_is_that_of_the_site() -> None:
    high = replace(QUAY, elevation=parse_quantity("1600 m", "length"))
    assert (a_log().elevation, a_log(site=high).elevation) == (None, 1600)
