"""Ice: the margin to the coldest surface and ice that was seen."""

import pytest

BATH = {"glycol": "propylene", "set_point": "25 degF"}
ICE = [{"code": "ice_on_coil"}]


# A chiller maker's answer: the coil reaches 10 to 15 °F in a bath at 25 °F.
def test_the_coil_counts_and_not_the_bath(findings):
    found = findings("glycol_strength 33 vol%", known={"bath": BATH})["freeze_margin_good"]

    assert found.figures["coldest_surface"].value * 1.8 - 459.67 == pytest.approx(10.0, abs=0.1)
    assert found.figures["margin"].value * 1.8 == pytest.approx(10.0 - 4.0, abs=0.9)


# R-134a saturation, CoolProp 8 outside this project: 3.0 psig at -7.4 °F; 33 % by volume freezes at 4 °F.
def test_a_measured_suction_pressure_gives_the_coil(findings):
    known = {"bath": BATH, "refrigeration": {"refrigerant": "R-134a"}}
    found = findings("glycol_strength 33 vol%", "suction_pressure 3 psi", known=known)["coil_can_freeze"]

    assert found.figures["coldest_surface"].value * 1.8 - 459.67 == pytest.approx(-7.4, abs=0.5)


def test_a_warm_bath_shows_nothing_of_the_coil_in_a_cold_one(findings):
    found = findings("glycol_strength 20 mass%", "bath_temperature 60 degF")

    assert not any(code.startswith(("freeze_", "coil_")) for code in found)


# Lever rule on Melinder's freezing points: 10 % at -5 °C has an ice fraction of 0.346.
def test_a_bath_under_its_freezing_point_is_part_ice(findings):
    found = findings("glycol_strength 10 mass%", "bath_temperature -5 degC", system="si")["bath_below_freezing"]

    assert found.figures["ice"].value == pytest.approx(0.346, abs=0.002)
    assert "35 %" in found.sentence


def test_weak_glycol_explains_ice_on_the_coil(findings):
    assert "explains" in findings("glycol_strength 18 mass%", observations=ICE)["ice_on_coil"].sentence


def test_ice_in_strong_glycol_asks_for_the_flow(findings):
    found = findings("glycol_strength 35 mass%", observations=ICE)["ice_on_coil"]

    assert "although" in found.sentence
    assert "flow" in found.advice


def test_ice_without_a_strength_asks_for_it(assessed):
    found = assessed(observations=ICE)

    assert "Measure the strength" in found.findings[0].advice
    assert found.would_help[0].name == "glycol_strength"
