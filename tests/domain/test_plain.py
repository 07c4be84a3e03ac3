"""Records as plain JSON values and back."""

import json
from datetime import UTC, date, datetime
from functools import partial

import pytest

from service.domain.plain import Shape, as_entered, from_plain, read_stored, shape, stored, to_plain
from service.domain.quantities import Quantity, parse_quantity, show_quantity
from service.domain.record.calls import Promised
from service.domain.record.fleet import Bath, BeerLine, Component, Customer, Run, Trunk, Unit
from service.domain.record.former import former_visit
from service.domain.record.visits import Complaint, Correction, Reading, Replacement, Visit
from service.domain.root_causes.comparison import Setting

LONG = Quantity(36.576, "length", "120 ft")
NIGHT = datetime(2026, 6, 10, 5, 5, tzinfo=UTC)
PLAIN = {
    "tag": "GU-1",
    "site": "quay",
    "registered_on": date(2026, 6, 9),
    "bath": {"glycol": "propylene", "volume": parse_quantity("38 L", "volume")},
    "components": [{"code": "switch-1", "kind": "power_switch", "feeds": ["pump-1", "pump-2"]}],
    "trunks": [{"code": "bar", "runs": [{"surroundings": "attic", "length": LONG}], "beer_lines": [{"tap": "1"}]}],
}


def a_visit(**changes) -> Visit:
    frame = {"id": "x", "unit": "GU-1", "kind": "maintenance", "arrived_at": NIGHT, "posted_at": NIGHT}
    return Visit(**frame | {"posted_by": "rhea", "time_zone": "America/Denver"} | changes)


def test_records_are_made_whatever_their_depth() -> None:
    unit = from_plain(Unit, PLAIN)

    assert unit.bath == Bath(glycol="propylene", volume=parse_quantity("38 L", "volume"))
    assert unit.components == (Component(code="switch-1", kind="power_switch", feeds=("pump-1", "pump-2")),)
    runs = (Run(surroundings="attic", length=LONG),)
    assert unit.trunks == (Trunk(code="bar", runs=runs, beer_lines=(BeerLine(tap="1"),)),)


def test_what_is_stored_is_read_back() -> None:
    unit = from_plain(Unit, PLAIN)
    kept = to_plain(unit, stored)

    assert kept["bath"]["volume"] == [0.038, "volume", "38 L"]
    assert kept["registered_on"] == "2026-06-09"
    assert from_plain(Unit, kept, read_stored) == unit


def test_lists_within_lists_are_read_back() -> None:
    setting = Setting(
        rate=0.1, shape=2.0, strengths=((0.5, 0.5), (1.0, 0.0)), priors=(0.1,), measured=(0.2,), unexplained=0.01
    )

    assert from_plain(Setting, to_plain(setting)) == setting


def test_null_is_none_for_one_and_empty_for_many() -> None:
    unit = from_plain(Unit, PLAIN | {"bath": None, "components": None, "maker": None})

    assert (unit.bath, unit.components, unit.maker) == (None, (), None)


def test_a_field_that_the_class_lacks_is_a_mistake() -> None:
    with pytest.raises(TypeError, match="colour"):
        from_plain(Bath, {"colour": "blue"})


def test_what_is_not_known_is_left_out_or_null() -> None:
    assert to_plain(BeerLine(tap="1")) == {"tap": "1"}
    assert to_plain(BeerLine(tap="1"), nulls=True) == {"tap": "1", "bore": None, "tubing": None, "product": None}


def test_false_and_zero_are_known() -> None:
    unit = from_plain(Unit, PLAIN | {"refrigeration": {"low_side_port": False}})

    assert to_plain((False, 0, "")) == [False, 0, ""]
    assert as_entered(unit)["refrigeration"] == {"low_side_port": False}


def test_a_quantity_has_the_form_that_is_chosen() -> None:
    run = Run(surroundings="attic", length=LONG)

    assert to_plain(run) == {"surroundings": "attic", "length": "120 ft"}
    assert to_plain(run, stored)["length"] == [36.576, "length", "120 ft"]
    assert to_plain(run, partial(show_quantity, system="si"))["length"] == {
        "value": 36.576,
        "unit": "m",
        "entered": "120 ft",
    }


def test_instants_are_by_the_clock_of_the_zone_or_of_the_records_own() -> None:
    reading = Reading(quantity="glycol_ph", value=parse_quantity("8 pH", "acidity"), when="as_found", at=NIGHT)

    assert to_plain(reading, zone="Pacific/Auckland")["at"] == "2026-06-10T17:05:00+12:00"
    assert to_plain(reading)["at"] == "2026-06-10T05:05:00+00:00"
    visit = to_plain(a_visit(readings=(reading,)), zone="Pacific/Auckland")
    assert visit["arrived_at"] == visit["readings"][0]["at"] == "2026-06-09T23:05:00-06:00"


def test_a_record_as_entered_leaves_out_what_is_empty() -> None:
    assert as_entered(Customer(code="lantern", name="The Lantern Room")) == {
        "code": "lantern",
        "name": "The Lantern Room",
        "version": 1,
    }
    assert "readings" not in as_entered(a_visit())


def test_shapes_tell_leaves_from_records() -> None:
    shapes = shape(Visit)

    assert {name for name, each in shapes.items() if each.many} == {
        "calls", "crew", "readings", "tasks", "replacements", "observations", "parts_used",
    }  # fmt: skip
    assert shapes["kind"] == Shape(None, None, many=False)
    assert shapes["left_at"] == Shape(datetime, None, many=False)
    assert shapes["complaint"] == Shape(None, Complaint, many=False)
    assert shape(Bath)["volume"] == Shape(Quantity, None, many=False)  # a dataclass, and a leaf all the same


def test_a_former_visit_is_read_back_from_its_text() -> None:
    strength = parse_quantity("18 Brix", "brix")
    sample = parse_quantity("60 degF", "temperature")
    reading = Reading(quantity="glycol_strength", value=strength, when="as_found", at=NIGHT, sample_temperature=sample)
    part = Replacement(component="pump-1", reason="failed", condition="burnt", evidence="reported", on="2026-05-20")
    complaint = Complaint(symptom="warm_pour", reported_at=NIGHT)
    visit = a_visit(left_at=NIGHT, readings=(reading,), replacements=(part,), complaint=complaint)
    correction = Correction(number=1, at=NIGHT, by="x", why="x", changes="{}", former=json.dumps(as_entered(visit)))

    assert former_visit(a_visit(work="later"), correction) == visit


def test_a_field_named_as_a_keyword_goes_by_the_keyword_in_json() -> None:
    promised = Promised(from_=datetime(2026, 6, 9, 19, tzinfo=UTC), until=datetime(2026, 6, 9, 21, tzinfo=UTC))
    plain = to_plain(promised)

    assert plain == {"from": "2026-06-09T19:00:00+00:00", "until": "2026-06-09T21:00:00+00:00"}
    assert from_plain(Promised, plain) == promised
