"""A noun told as it was entered."""

from datetime import UTC, date, datetime

from service.domain.quantities import parse_quantity
from service.domain.record.as_entered import as_entered
from service.domain.record.fleet import Bath, Component, Customer, Refrigeration, Unit
from service.domain.record.visits import Reading, Visit

NIGHT = datetime(2026, 6, 10, 5, 5, tzinfo=UTC)


def a_visit(**changes) -> Visit:
    frame = {"id": "x", "unit": "GU-1", "kind": "maintenance", "arrived_at": NIGHT, "posted_at": NIGHT}
    return Visit(**frame | {"posted_by": "rhea", "time_zone": "America/Denver"} | changes)


def test_a_quantity_is_told_in_the_text_as_typed() -> None:
    unit = Unit(
        tag="GU-1", site="quay", registered_on=date(2026, 6, 9), bath=Bath(volume=parse_quantity("38 L", "volume"))
    )

    assert as_entered(unit)["bath"] == {"volume": "38 L"}


def test_days_and_instants_are_texts_the_instants_by_the_sites_clock() -> None:
    reading = Reading(quantity="glycol_ph", value=parse_quantity("8 pH", "acidity"), when="as_found", at=NIGHT)
    told = as_entered(a_visit(readings=(reading,)), "America/Denver")

    assert told["arrived_at"] == told["readings"][0]["at"] == "2026-06-09T23:05:00-06:00"
    assert as_entered(Component(code="a", kind="pump", installed_on=date(2026, 6, 9)))["installed_on"] == "2026-06-09"


def test_an_instant_told_again_is_the_same_instant() -> None:
    told = as_entered(a_visit(), "Pacific/Auckland")

    assert datetime.fromisoformat(told["arrived_at"]) == NIGHT


def test_what_is_empty_is_left_out() -> None:
    assert as_entered(Customer(code="lantern", name="The Lantern Room")) == {
        "code": "lantern",
        "name": "The Lantern Room",
        "version": 1,
    }
    assert "readings" not in as_entered(a_visit())


def test_false_is_not_empty() -> None:
    unit = Unit(
        tag="GU-1", site="quay", registered_on=date(2026, 6, 9), refrigeration=Refrigeration(low_side_port=False)
    )

    assert as_entered(unit)["refrigeration"] == {"low_side_port": False}
