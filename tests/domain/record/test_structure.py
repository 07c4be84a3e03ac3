"""Dataclasses from plain mappings and back."""

from datetime import date

import pytest

from service.domain.quantities import Quantity
from service.domain.record.fleet import Bath, BeerLine, Component, Run, Trunk, Unit
from service.domain.record.structure import build, shape, take_apart
from service.domain.record.visits import Visit

LONG = Quantity(36.576, "length", "120 ft")
PLAIN = {
    "tag": "GU-1",
    "site": "quay",
    "registered_on": date(2026, 6, 9),
    "bath": {"glycol": "propylene"},
    "components": [{"code": "switch-1", "kind": "power_switch", "feeds": ["pump-1", "pump-2"]}],
    "trunks": [{"code": "bar", "runs": [{"surroundings": "attic", "length": LONG}], "beer_lines": [{"tap": "1"}]}],
}


def test_nested_parts_are_built_whatever_their_depth() -> None:
    unit = build(Unit, PLAIN)

    assert unit.bath == Bath(glycol="propylene")
    assert unit.components == (Component(code="switch-1", kind="power_switch", feeds=("pump-1", "pump-2")),)
    runs = (Run(surroundings="attic", length=LONG),)
    assert unit.trunks == (Trunk(code="bar", runs=runs, beer_lines=(BeerLine(tap="1"),)),)


def test_what_is_built_and_taken_apart_can_be_built_again() -> None:
    unit = build(Unit, PLAIN)

    assert build(Unit, take_apart(unit, lambda leaf: leaf)) == unit


def test_null_is_none_for_one_and_empty_for_many() -> None:
    unit = build(Unit, PLAIN | {"bath": None, "components": None, "maker": None})

    assert (unit.bath, unit.components, unit.maker) == (None, (), None)


def test_what_is_taken_apart_leaves_out_what_is_not_known() -> None:
    assert take_apart(Run(surroundings="attic", length=LONG), lambda leaf: leaf) == {
        "surroundings": "attic",
        "length": LONG,
    }


def test_leaves_go_through_the_function_given_both_ways() -> None:
    built = build(Bath, {"volume": "38"}, leaf=lambda text: Quantity(float(text), "volume", text))

    assert take_apart(built, lambda leaf: leaf.entered if isinstance(leaf, Quantity) else leaf) == {"volume": "38"}


def test_false_and_zero_are_known() -> None:
    assert take_apart((False, 0, ""), lambda leaf: leaf) == [False, 0, ""]


def test_a_quantity_is_a_leaf_though_it_is_a_dataclass() -> None:
    assert shape(Bath)["volume"] == (None, False)
    assert take_apart(LONG, lambda leaf: leaf) is LONG


def test_a_shape_tells_parts_from_plain_values() -> None:
    shapes = shape(Visit)

    assert {name for name, (_, many) in shapes.items() if many} == {"readings", "tasks", "replacements", "observations"}
    assert shapes["kind"] == (None, False)
    assert shapes["complaint"][0] is not None


def test_a_field_that_the_class_lacks_is_a_mistake() -> None:
    with pytest.raises(KeyError, match="colour"):
        build(Bath, {"colour": "blue"})
