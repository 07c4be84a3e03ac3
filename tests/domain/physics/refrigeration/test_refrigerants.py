"""Refrigerants by the trade's names; classes against CoolProp's own data."""

import pytest

from service.domain.physics.libraries import coolprop
from service.domain.physics.refrigeration.refrigerants import REFRIGERANTS, UnknownRefrigerant, refrigerant


@pytest.mark.parametrize("name", ["R-134a", "R134A", "r 134a", "HFC-134a", "134a", " R_134a "])
def test_any_spelling_of_the_trade_finds_the_refrigerant(name):
    assert refrigerant(name).fluid == "R134a"


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("propane", "R-290"), ("isobutane", "R-600a"), ("propylene", "R-1270"), ("R-507", "R-507A"),
        ("HCFC-22", "R-22"), ("CFC12", "R-12"), ("HFO-1234yf", "R-1234yf"), ("R1234ze", "R-1234ze(E)"),
    ],
)  # fmt: skip
def test_other_names_of_the_trade_are_known(name, found):
    assert refrigerant(name).name == found


@pytest.mark.parametrize("name", ["", "R", "R-9999", "R-134", "water", "propylene glycol", "R-134a R-22"])
def test_an_unknown_name_is_refused_with_the_known_ones(name):
    with pytest.raises(UnknownRefrigerant) as refusal:
        refrigerant(name)

    assert refusal.value.name == name
    assert "R-134a" in refusal.value.known


def test_every_refrigerant_is_found_by_its_own_name_and_no_two_share_one():
    assert [refrigerant(each.name) for each in REFRIGERANTS] == list(REFRIGERANTS)


@pytest.mark.parametrize(("name", "burns"), [("R-290", True), ("R-454C", True), ("R-134a", False), ("R-449A", False)])
def test_classes_with_a_2_or_a_3_burn(name, burns):
    assert refrigerant(name).flammable is burns


@pytest.mark.parametrize(
    "name", ["R134a", "R404A", "R290", "R507A", "R410A", "R22", "R407C", "R1234yf", "R12", "R1270"]
)
def test_safety_class_is_the_one_coolprop_carries(name):
    # CoolProp 8.0.0, parameter ASHRAE34. Its R-32 entry is A2, from before the class A2L.
    assert refrigerant(name).safety_class == coolprop().get_fluid_param_string(name, "ASHRAE34")
