"""Findings on the glycol's strength, against published freezing points and the trade's own mixing rule."""

import pytest

BATH = {"volume": "38 L", "glycol": "propylene", "target_strength": "35 mass%", "set_point": "28 degF"}
BRIX = "glycol_strength {} Brix ~20 degC"


def celsius(figure):
    return figure.value - 273.15


# A glycol chiller maker's article, 2019: 26.5 Brix is 35 % propylene glycol (35 vol % are 35.8 mass %).
def test_the_published_mixture_is_good(findings):
    found = findings(BRIX.format(26.5))["glycol_strength_good"]

    assert found.figures["strength"].value == pytest.approx(0.358, abs=0.015)
    assert celsius(found.figures["freezing_point"]) == pytest.approx(-16.8, abs=1.5)


# ASHRAE Fundamentals 2001: 20 mass % of propylene glycol freeze at -7.1 °C, 30 mass % at -12.7 °C; tolerance 0.5 K.
@pytest.mark.parametrize(
    ("strength", "freezes", "code"), [(20, -7.1, "glycol_weak"), (30, -12.7, "glycol_strength_good")]
)
def test_the_freezing_point_is_that_of_the_table(findings, strength, freezes, code):
    found = findings(f"glycol_strength {strength} mass%")[code]

    assert celsius(found.figures["freezing_point"]) == pytest.approx(freezes, abs=0.5)


@pytest.mark.parametrize(
    ("strength", "spoken"),
    [(24.9, "glycol_weak"), (25, "glycol_strength_good"), (50, "glycol_strength_good"), (50.1, "glycol_strong")],
)
def test_weak_is_under_25_and_strong_over_50_percent(findings, strength, spoken):
    assert spoken in findings(f"glycol_strength {strength} mass%")


# The trade's V = V_system (c_t - c) / (1 - c), which takes all densities as equal.
def test_a_full_bath_is_drained_before_concentrate_goes_in(findings):
    found = findings("glycol_strength 25 mass%", known={"bath": BATH})["glycol_off_target"]

    by_rule = 38.0 * (0.35 - 0.25) / (1.0 - 0.25)
    assert found.figures["pour_in"].value * 1000 == pytest.approx(by_rule, rel=0.05)
    assert found.figures["drain"].value * 1000 == pytest.approx(by_rule, rel=0.1)
    assert found.advice.startswith("Drain 1.2")


def test_a_bath_with_room_is_not_drained(findings):
    found = findings("glycol_strength 25 mass%", "bath_level 80 %", known={"bath": BATH})["glycol_off_target"]

    assert found.figures["drain"].value == 0.0
    assert "no draining is needed" in found.advice


def test_strong_glycol_is_diluted_with_water(findings):
    found = findings("glycol_strength 55 mass%", known={"bath": BATH})["glycol_strong"]

    assert "distilled water" in found.advice
    assert found.figures["pour_in"].value > 0.0


def test_the_loop_counts_to_the_volume(findings):
    loop = {
        "trunks": [{"code": "bar", "glycol_bore": "0.5 in", "runs": [{"surroundings": "indoor", "length": "100 m"}]}]
    }
    bare, with_loop = (
        findings("glycol_strength 25 mass%", known={"bath": BATH, **trunks})["glycol_off_target"]
        .figures["pour_in"]
        .value
        for trunks in ({}, loop)
    )

    assert with_loop / bare == pytest.approx((38.0 + 25.3) / 38.0, rel=1e-3)  # two tubes of 0.5 in hold 0.253 L a metre


def test_without_the_volume_no_amounts_are_given(findings):
    found = findings("glycol_strength 20 mass%", known={"bath": {"target_strength": "35 mass%"}})["glycol_weak"]

    assert "drain" not in found.figures
    assert "35 % by mass" in found.advice


def test_without_a_target_the_usual_one_is_named_and_no_amounts(findings):
    found = findings("glycol_strength 20 mass%", known={"bath": {"volume": "38 L"}})["glycol_weak"]

    assert "pour_in" not in found.figures
    assert "33 to 36 %" in found.advice


def test_ethylene_glycol_comes_first_and_its_strength_not_at_all(assessed):
    found = assessed(BRIX.format(15), "bath_temperature 47 degF", known={"bath": {"glycol": "ethylene"}}).findings

    assert found[0].code == "ethylene_glycol"
    assert not any(finding.code.startswith("glycol_") for finding in found)


def test_the_strength_as_left_counts_once_it_is_there(findings):
    found = findings("glycol_strength 15 Brix ~20 degC found", BRIX.format(25))

    assert found["glycol_weak"].severity == "note"  # what was found stays found
    assert "as left" in found["glycol_strength_good"].sentence


def test_glycol_that_was_changed_since_is_only_to_be_read_again(findings):
    changed = [{"task": "glycol_change", "result": "done"}]
    found = findings("glycol_strength 15 Brix ~20 degC found", tasks=changed)["glycol_weak"]

    assert (found.severity, "again" in found.advice) == ("note", True)


# Calculated uncompensated drift: a 35 mass % sample reads 26.6 Brix at 10 °C, 25.4 at 20 °C.
def test_a_cold_sample_on_a_plain_refractometer_is_weaker_than_it_reads(findings):
    found = findings("glycol_strength 26.6 Brix ~10 degC")["brix_compensation"]

    assert found.figures["strength_if_uncompensated"].value == pytest.approx(0.35, abs=0.005)


def test_concentrate_in_the_bath_is_too_strong_and_nothing_breaks(findings):
    assert findings("glycol_strength 95 mass%", known={"bath": BATH})["glycol_strong"].severity == "act"


# Two articles on glycol: inhibited propylene glycol under pH 8.0 is to be tested, adjusted or replaced.
@pytest.mark.parametrize(("ph", "code"), [("7.9", "glycol_ph_low"), ("8.0", "glycol_ph_good")])
def test_a_ph_under_eight_is_low(findings, ph, code):
    assert code in findings(f"glycol_ph {ph} pH")


# A refractometer-correction page: temperature compensation holds from 50 to 86 degF.
def test_a_sample_straight_from_the_bath_is_to_be_warmed_and_read_again(findings):
    found = findings("glycol_strength 27.5 Brix ~29 degF", known={"bath": BATH})

    assert set(found) == {"brix_without_sample_temperature"}
    assert "a sample at 29 °F" in found["brix_without_sample_temperature"].sentence
    assert found["brix_without_sample_temperature"].advice.startswith("Let the sample come to room temperature")
