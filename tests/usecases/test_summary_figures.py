"""Single figures of a customer's year, each by hand."""

from datetime import UTC, date, datetime

import pytest

from service.domain.audit import Actor
from service.domain.summary.actions import ADVISING, for_a_day
from service.domain.summary.customer_words import LIMITS
from service.usecases.year import summaries

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)


@pytest.fixture
def stocked(database, make):
    make.now, make.actor = NOW, Actor("tester", "owner", None, NOW)
    with database.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay", installed_on=date(2024, 1, 1))
    return database


def post(database, make, arrived_at, **more):
    with database.writing() as store:
        return make.visit(store, "GU-1", arrived_at, **more)


def summarised(database):
    with database.reading() as store:
        return summaries.summarise(store, "lantern", 2026, as_of=NOW, program_version="0", units_shown=None)


def test_hours_on_site_are_those_of_the_visits_whose_end_was_noted(stocked, make):
    """By hand: 1 h 30 min and 45 min."""
    post(stocked, make, "2026-03-01T18:00:00Z", left_at="2026-03-01T19:30:00Z")
    post(stocked, make, "2026-03-02T18:00:00Z", left_at="2026-03-02T18:45:00Z")
    post(stocked, make, "2026-03-03T18:00:00Z")

    found = summarised(stocked).units[0].time_on_site

    assert (found.visits, found.timed, found.total.value) == (3, 2, 135 * 60)


def moved(quantity, mass):
    return {"quantity": quantity, "value": mass, "when": "as_left"}


def test_refrigerant_is_added_up_each_its_own_way(stocked, make):
    readings = [moved("refrigerant_added", "120 g"), moved("refrigerant_recovered", "0.3 kg")]
    post(stocked, make, "2026-03-01T18:00:00Z", readings=readings)
    post(stocked, make, "2026-04-01T18:00:00Z", readings=[moved("refrigerant_added", "80 g")])

    summary = summarised(stocked)

    assert [summary.refrigerant.added.value, summary.refrigerant.recovered.value] == pytest.approx([0.2, 0.3])
    assert summary.units[0].refrigerant == summary.refrigerant
    assert [move.what for move in summary.units[0].refrigerant_moves] == ["added", "recovered", "added"]


def test_that_no_refrigerant_is_on_record_is_said_once(stocked, make):
    post(stocked, make, "2026-03-01T18:00:00Z")

    summary = summarised(stocked)

    assert (summary.refrigerant.added, summary.refrigerant.recovered) == (None, None)
    everything = [*summary.gaps, *summary.units[0].gaps]
    assert sum("refrigerant" in gap.sentence.lower() for gap in everything) == 1


def test_two_visits_of_one_day_each_report_their_own_find(stocked, make):
    clean = {"task": "condenser_clean", "result": "done"}
    post(stocked, make, "2026-03-01T15:00:00Z", tasks=[clean | {"as_found": "blocked"}])
    post(stocked, make, "2026-03-01T20:00:00Z", tasks=[clean | {"as_found": "clean"}])

    assert [point.as_found for point in summarised(stocked).units[0].condenser] == ["blocked", "clean"]


def test_money_is_no_gap_and_has_a_definition(stocked):
    summary = summarised(stocked)

    assert not any("rice" in gap.sentence for gap in summary.gaps)
    assert any(each.term == "Money" for each in summary.definitions)


def test_advice_has_a_reason_of_its_own(stocked, make):
    post(
        stocked, make, "2026-03-01T15:00:00Z",
        readings=[{"quantity": "glycol_strength", "value": "20 mass%", "when": "as_left"}],
    )  # fmt: skip

    (advised,) = [each for each in summarised(stocked).units[0].actions if "glycol" in each.what.lower()][:1]

    assert (advised.who, advised.basis) == ("we", "limit")
    assert advised.what == "Bring the glycol to its target strength."
    assert advised.why[0].startswith("GU-1: The glycol was last measured too weak")


def said_at_visits(stocked):
    return [(each.what, len(each.why)) for each in summarised(stocked).units[0].actions if each.basis == "words"]


def test_what_our_technicians_advised_stays_advised_and_equal_lines_are_one(stocked, make):
    post(stocked, make, "2026-03-01T15:00:00Z", advice="Do not top up with the hose.", outcome="down")
    post(stocked, make, "2026-04-01T15:00:00Z", advice="Keep the air side free.", outcome="running")
    post(stocked, make, "2026-05-01T15:00:00Z", advice="Do not top up with the hose.", outcome="running")

    assert said_at_visits(stocked) == [("Do not top up with the hose.", 2), ("Keep the air side free.", 1)]


def test_advice_for_a_time_is_left_out_once_we_have_been_there_again(stocked, make):
    post(stocked, make, "2026-03-01T15:00:00Z", advice="Do not top up with the hose.", outcome="down")
    post(stocked, make, "2026-04-01T15:00:00Z", advice="Pour from tap 2 today.", outcome="recovering")
    assert said_at_visits(stocked) == [("Do not top up with the hose.", 1), ("Pour from tap 2 today.", 1)]
    post(stocked, make, "2026-04-02T15:00:00Z", outcome="running", by="others", evidence="reported")
    assert len(said_at_visits(stocked)) == 2
    post(stocked, make, "2026-04-03T15:00:00Z", outcome="running")

    assert said_at_visits(stocked) == [("Do not top up with the hose.", 1)]


@pytest.mark.parametrize(
    ("advice", "is_for_a_day"),
    [
        ("Pour from tap 2 today.", True),
        ("Keep the doors shut until tomorrow.", True),
        ("Use the other outlet for now", True),
        ("Do not reset the breaker until an electrician has been there.", False),
        ("It fails again until the unit is moved away from the fryer.", False),
        ("The unit is too small for today's sales: plan a larger one.", False),
        ("Move the unit out of the sun. Pour from tap 2 today.", False),
        ("Have an electrician fit an outlet, and use the other one for now.", False),
        ("Have an electrician fit an outlet, as we agreed today.", False),
        ("Do not tap warm kegs this week or any other.", False),
    ],
)
def test_only_advice_that_is_wholly_for_a_day_is_for_a_day(advice, is_for_a_day):
    assert for_a_day(advice) == is_for_a_day


def test_what_others_advised_is_not_reported_as_our_advice(stocked, make):
    post(stocked, make, "2026-03-01T15:00:00Z", advice="Buy a bigger one.", by="others", evidence="reported")

    assert said_at_visits(stocked) == []


def test_what_is_advised_follows_from_findings():
    assert set(LIMITS) <= {code for rule in ADVISING for code in rule.codes}


def test_weak_glycol_is_advised_until_it_is_measured_again(stocked, make):
    def read(quantity, value):
        return [{"quantity": quantity, "value": value, "when": "as_found"}]

    def advised():
        return [each.why for each in summarised(stocked).units[0].actions if each.basis == "limit"]

    post(stocked, make, "2026-03-01T15:00:00Z", readings=read("glycol_strength", "20 mass%"))
    post(stocked, make, "2026-04-01T15:00:00Z", readings=read("bath_temperature", "29 degF"))
    ((reason,),) = advised()
    post(stocked, make, "2026-05-01T15:00:00Z", readings=read("glycol_strength", "35 mass%"))

    assert "last measured too weak" in reason
    assert advised() == []
