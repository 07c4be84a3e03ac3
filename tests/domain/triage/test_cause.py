"""The cause sentence of a visit's assessment."""

import pytest

from service.domain.assessment.settle import what_first
from service.domain.triage.cause import likely_cause
from service.domain.triage.diagnose import diagnose
from service.domain.triage.measured import measure
from service.domain.triage.worked import WORKED_ON, after_work, found_dirty
from tests.domain.assessment.conftest import visit

from .conftest import RECORD, question, unit

RESTRICTED = (
    "bath_temperature 29 degF", "condenser_air_in_temperature 85 degF", "suction_pressure 5.5 psi",
    "suction_line_temperature 29 degF", "discharge_pressure 119 psi", "liquid_line_temperature 86.2 degF",
)  # fmt: skip


def test_it_names_the_best_explanation_with_its_test_and_caution():
    found = likely_cause(question(*RESTRICTED))

    assert found is not None
    assert found.severity == "note"
    assert found.figures["explanations"] == "restriction"
    assert found.sentence.startswith("The capillary, drier or valve is partly blocked (")
    assert "% probable)" in what_first([found])[0]
    assert found.advice is not None
    assert "Leave the refrigerant circuit closed" in str(found.caution)


def test_it_names_the_set_where_the_readings_do_not_separate():
    found = likely_cause(question(*RESTRICTED[:4]))

    assert found is not None
    assert set(str(found.figures["explanations"]).split(", ")) == {"low_charge", "restriction"}


@pytest.mark.parametrize(
    ("lines", "symptom"),
    [((), "warm_pour"), (RESTRICTED, None), (RESTRICTED, "noisy"), (RESTRICTED[:2], "warm_pour")],
)
def test_without_complaint_or_readings_it_is_silent(lines, symptom):
    assert likely_cause(question(*lines, symptom=symptom)) is None


# Two thermometers in one bath at one instant give no rate; 20 °F apart, neither is the bath's. Physics.
@pytest.mark.parametrize(("second", "doubted"), [(29, False), (30, False), (49, True)])
def test_a_bath_read_twice_at_one_instant_gives_no_rate(second, doubted):
    twice = ("bath_temperature 29 degF @5", f"bath_temperature {second} degF @5", *RESTRICTED[1:])
    asked = question(*twice)
    seen = measure(asked.unit, asked.readings)

    assert "bath_rate" not in seen.values
    assert (seen.bath is None) is doubted
    assert [each.quantity for each in seen.suspect] == ["bath_temperature"] * (2 * doubted)
    assert doubted or likely_cause(asked).figures["explanations"] == "restriction"
    assert not doubted or diagnose(asked, "us").suspect


# Pressures minutes after a start are those of no steady circuit: they name no cause. Common practice, no source.
@pytest.mark.parametrize(("minutes", "named"), [(3, False), (20, True)])
def test_what_was_read_just_after_a_start_names_no_cause(minutes, named):
    late = (f"{each} @{minutes}" for each in (*RESTRICTED, "current[compressor-1] 8 A"))

    assert (likely_cause(question("current[compressor-1] 0 A @0", *late)) is not None) is named


def test_of_a_unit_whose_ratings_have_no_meaning_it_is_silent():
    rated = RECORD["refrigeration"] | {"rated_cooling": "0 W"}

    assert likely_cause(question(*RESTRICTED, unit=unit(refrigeration=rated))) is None


def test_what_was_measured_is_not_asked_for_again():
    strong = ("glycol_strength 31 Brix ~20 degC", "bath_temperature 29 degF", "glycol_supply_temperature 29.3 degF")
    warm = ("glycol_return_temperature 33 degF", "beer_temperature_at_tap[8] 44 degF", "cooler_temperature 36 degF")
    found = likely_cause(question(*strong, *warm, "current[pump-1] 6.1 A"))

    assert found is not None
    assert found.figures["explanations"] == "glycol_too_strong"
    assert str(found.advice).startswith("Dilute to the target strength")


# Condenser air -50 % and charge -20 % on a capillary hide each other in everything but the subcooling: calculated with
# a steady model of another make, R-134a, bath 29 degF, air 85 degF
HIDDEN = (
    "bath_temperature 29 degF", "condenser_air_in_temperature 85 degF", "condenser_air_out_temperature 106.4 degF",
    "suction_pressure 15 psi", "suction_line_temperature 28.7 degF", "discharge_pressure 153.6 psi",
    "liquid_line_temperature 113 degF",
)  # fmt: skip


def test_two_faults_at_once_are_one_sentence_with_the_advice_for_both():
    found = likely_cause(question(*HIDDEN))

    assert found is not None
    named = str(found.figures["explanations"]).split(" and ")
    assert {*named, found.figures.get("second")} >= {"condenser_fouled", "low_charge"}, found.sentence
    assert "lost refrigerant" in found.sentence
    assert "search for the leak" in str(found.advice)
    assert what_first([found])[0].startswith("Likely cause: ")
    assert "Leave the refrigerant circuit closed" in str(found.caution)


# A condenser that takes too little heat: which of fan and dirt it is, the technician's grade shows. Common practice.
HOT = (
    "bath_temperature 46 degF", "condenser_air_in_temperature 82 degF", "condenser_air_out_temperature 120 degF",
    "suction_pressure 20 psi", "discharge_pressure 215 psi",
)  # fmt: skip


def graded(as_found, result="done"):
    task = {"task": "condenser_clean", "result": result, "as_found": as_found}
    return visit(tasks=[task] if result == "done" else [task | {"reason": "no time"}])


@pytest.mark.parametrize(("as_found", "fouled"), [("blocked", True), ("clean", False)])
def test_how_the_condenser_was_found_counts(as_found, fouled):
    seen = [each.code if each.present else f"-{each.code}" for each in found_dirty(graded(as_found))]
    found = likely_cause(question(*HOT, seen=tuple(seen)))

    assert len(seen) == 1
    assert found is not None
    assert ("The condenser is fouled" in found.sentence) == fouled, found
    assert (found.figures["explanations"] == "condenser_fouled") == fouled, found


def test_a_cause_that_was_worked_on_in_the_visit_is_not_advised_again():
    found = likely_cause(question(*HOT, seen=("condenser_dirty", "fan_turning")))

    assert found is not None
    assert found.figures["explanations"] == "condenser_fouled"
    assert after_work(found, graded("blocked"), unit()).advice.startswith(WORKED_ON)
    assert "Clean the condenser" not in after_work(found, graded("blocked"), unit()).advice
    assert after_work(found, graded("blocked", "not_done"), unit()) == found


def test_equal_pressures_beside_a_current_are_no_evidence_of_a_cause():
    lines = ("bath_temperature 45 degF", "suction_pressure 40 psi", "discharge_pressure 41 psi",
             "current[compressor-1] 6 A", "current[fan-1] 0.9 A", "condenser_air_in_temperature 75 degF")  # fmt: skip

    assert likely_cause(question(*lines)) is None


def test_the_current_of_a_pump_that_was_read_is_not_asked_for_again():
    lines = ("bath_temperature 28 degF", "beer_temperature_at_tap[8] 55 degF", "cooler_temperature 37 degF")
    found = likely_cause(question(*lines, "current[pump-1] 0 A", seen=("-display_dark",)))

    assert found is not None
    assert found.figures["explanations"] == "pump_stopped"
    assert "read its current" not in found.advice


def test_what_was_measured_of_a_second_fault_is_not_asked_for_again():
    strong = ("glycol_strength 41 mass%", "bath_temperature 29 degF", "glycol_supply_temperature 30 degF")
    warm = ("glycol_return_temperature 42 degF", "beer_temperature_at_tap[8] 45 degF", "cooler_temperature 36 degF")
    found = likely_cause(question(*strong, *warm, "glycol_flow 0.4 gal/min"))

    assert found is not None
    assert found.figures["second"] == "glycol_too_strong"
    assert "Measure the glycol's strength" not in found.advice


def test_what_burnt_and_was_replaced_has_a_reason_that_is_looked_for_first():
    dead = ("voltage_before[switch-1] 118 V", "voltage_behind[switch-1] 0 V", "beer_temperature_at_tap[1] 66 degF")
    cause = likely_cause(question(*dead, seen=("display_dark",)))
    assert cause is not None
    for condition, begins in (("burnt", "What burnt has a reason"), ("broken", WORKED_ON)):
        part = {"component": "switch-1", "reason": "failed", "condition": condition, "evidence": "seen"}
        advice = after_work(cause, visit(replacements=[part]), unit()).advice

        assert str(advice).startswith(begins)
