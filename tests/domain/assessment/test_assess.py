"""The whole assessment: its order, its units, what it leaves unsaid, and that nothing makes it fall."""

import json
import math
import re
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.assessment.assess import assess
from service.domain.assessment.finding import SEVERITIES
from service.domain.quantities import Quantity, parse_quantity
from service.domain.record.fleet import (
    COMPONENT_KINDS,
    GLYCOLS,
    METERING,
    SWITCH_RATINGS,
    Bath,
    BeerLine,
    Component,
    Refrigeration,
    Run,
    Supply,
    Trunk,
    Unit,
)
from service.domain.record.readings import BY_QUANTITY, limit_of
from service.domain.record.visits import (
    CONDITIONS,
    OBSERVATIONS,
    OUTCOMES,
    Observation,
    Reading,
    Replacement,
    Visit,
    Void,
)
from service.schemas.assessments import assessment_to_json

PARTS = ("one", "two", "three")


def test_the_most_urgent_comes_first(assessed):
    readings = ("supply_voltage 208 V", "glycol_ph 9 pH", "bath_level 82 %", "cooler_temperature 45 degF")
    found = assessed(*readings, known={"supply": {"voltage": "115 V"}}).findings

    assert [finding.severity for finding in found] == ["stop", "act", "note", "fine"]


def test_an_empty_visit_gives_no_finding_and_asks_for_two_readings(assessed):
    found = assessed()

    assert found.findings == ()
    assert len(found.would_help) == 2
    assert {more.of for more in found.would_help} == {"visit"}


def test_sentences_and_figures_are_in_the_readers_units(assessed):
    shown = {system: assessed("bath_temperature 8.5 degC", system=system) for system in ("us", "si")}

    assert "47.3 °F" in shown["us"].findings[0].sentence
    assert "8.5 °C" in shown["si"].findings[0].sentence
    for system, unit in (("us", "degF"), ("si", "degC")):
        figures = assessment_to_json(shown[system], system)["findings"][0]["figures"]
        assert {figure["unit"] for figure in figures.values()} == {unit}


def test_a_reading_beyond_a_formula_becomes_a_note_that_names_it(assessed):
    (found,) = assessed("suction_pressure 900 psi", known={"refrigeration": {"refrigerant": "R-134a"}}).findings

    assert (found.code, found.severity) == ("not_calculated", "note")
    assert "900 psi" in found.sentence


def test_a_gauge_reading_beyond_the_curve_leaves_the_other_rules_alone(findings):
    found = findings(
        "suction_pressure 900 psi", "bath_temperature 30 degF", known={"refrigeration": {"refrigerant": "R-134a"}}
    )

    assert {"not_calculated", "bath_in_band"} <= set(found)


def test_one_absurd_switch_does_not_silence_the_next(findings):
    pumps = [{"code": code, "kind": "pump"} for code in ("pump-1", "pump-2")]
    switches = [
        {"code": "switch-1", "kind": "power_switch", "feeds": ["pump-1"], "rated_current": "400 A", "rating": "motor"},
        {"code": "switch-2", "kind": "power_switch", "feeds": ["pump-2"], "rated_current": "10 A", "rating": "motor"},
    ]
    found = findings("current[pump-1] 5 A", "current[pump-2] 11 A", known={"components": [*switches, *pumps]})

    assert {"not_calculated", "switch_over_rating"} <= set(found)


def test_a_voided_visit_has_no_conclusion():
    visit = _visit(())
    void = Void(reason="wrong unit", by="rhea", at=visit.arrived_at)

    (found,) = assess(replace(visit, void=void), _unit_of({}), "us").findings
    assert found.code == "visit_voided"


@pytest.mark.parametrize(
    ("symptom", "condition", "expected"),
    [
        ("frozen", None, "glycol_strength"),
        ("unit_dead", "burnt", "supply_voltage"),
        ("warm_pour", None, "bath_temperature"),
    ],
)
def test_what_would_help_follows_the_complaint(assessed, symptom, condition, expected):
    known = {
        "supply": {"voltage": "115 V"},
        "components": [{"code": "contactor-1", "kind": "contactor", "rated_current": "20 A"}],
    }
    more = {"complaint": {"symptom": symptom}}
    if condition:
        burnt = {"component": "contactor-1", "reason": "failed", "condition": condition, "evidence": "seen"}
        more["replacements"] = [burnt]

    assert expected in [each.name.partition(".")[0] for each in assessed(known=known, **more).would_help]


def test_no_gauge_is_asked_for_where_there_is_no_port_worth_it(assessed):
    sealed = {
        "refrigerant": "R-134a", "metering": "capillary", "low_side_port": True, "high_side_port": False,
        "charge": "300 g",
    }  # fmt: skip
    read = (
        "bath_temperature 30 degF @0", "bath_temperature 30 degF @20", "glycol_strength 35 mass%",
        "cooler_temperature 36 degF",
        "beer_temperature_at_tap[1] 37 degF", "supply_voltage 115 V", "glycol_ph 9 pH", "bath_level 90 %",
        "condenser_air_in_temperature 80 degF", "condenser_air_out_temperature 105 degF",
    )  # fmt: skip
    asked = assessed(*read, known={"refrigeration": sealed}).would_help

    assert not any("pressure" in more.name or "line_temperature" in more.name for more in asked)


def test_a_fact_that_is_missing_on_the_record_is_asked_for_there(assessed):
    known = {"components": [{"code": "pump-1", "kind": "pump"}]}
    asked = assessed("current[pump-1] 7 A", known=known, complaint={"symptom": "noisy"}).would_help

    assert (asked[0].name, asked[0].of) == ("components.rated_current", "unit")
    assert asked[0].why.startswith("The nameplate currents of the unit's components would show whether any motor")


# Random visits of valid readings


def _quantity(name: str) -> st.SearchStrategy[Quantity]:
    def between(dimension: str) -> st.SearchStrategy[Quantity]:
        limit = limit_of(name, dimension)
        return st.floats(limit.low.value, limit.high.value).map(lambda value: Quantity(value, dimension, ""))

    return st.sampled_from(BY_QUANTITY[name].dimensions).flatmap(between)


def _si(dimension: str, low: float, high: float) -> st.SearchStrategy[Quantity | None]:
    return st.none() | st.floats(low, high).map(lambda value: Quantity(value, dimension, ""))


TEMPERATURE = st.floats(233.15, 373.15).map(lambda value: Quantity(value, "temperature", ""))
READING = st.sampled_from(sorted(BY_QUANTITY)).flatmap(
    lambda name: st.builds(
        Reading,
        quantity=st.just(name),
        value=_quantity(name),
        when=st.sampled_from(("as_found", "as_left")),
        at=st.none() | st.integers(0, 7200).map(lambda s: datetime.fromtimestamp(1781031900 + s, UTC)),
        component=st.sampled_from(PARTS) if BY_QUANTITY[name].of_component else st.none(),
        tap=st.sampled_from(("1", "2")) if BY_QUANTITY[name].at_tap else st.none(),
        sample_temperature=st.none() | TEMPERATURE if BY_QUANTITY[name].of_sample else st.none(),
    )
)
COMPONENTS = st.tuples(
    *(
        st.builds(
            Component,
            code=st.just(code),
            kind=st.sampled_from(COMPONENT_KINDS),
            feeds=st.lists(st.sampled_from([each for each in PARTS if each != code]), unique=True).map(tuple),
            rated_current=_si("current", 0.0, 500.0),
            rated_power=_si("power", 0.0, 100_000.0),
            rating=st.none() | st.sampled_from(SWITCH_RATINGS),
        )
        for code in PARTS
    )
)
RUNS = st.builds(
    Run,
    surroundings=st.sampled_from(("cooler", "indoor", "underground")),
    length=st.floats(0.0, 1000.0).map(lambda value: Quantity(value, "length", "")),
    temperature=_si("temperature", 213.0, 355.0),
)
UNIT = st.fixed_dictionaries(
    {
        "supply": st.builds(Supply, voltage=_si("voltage", 0.0, 1000.0), phases=st.sampled_from((None, 1, 3))),
        "refrigeration": st.builds(
            Refrigeration,
            refrigerant=st.sampled_from((None, "R-134a", "R-404A", "R-290", "nonsense")),
            charge=_si("mass", 0.0, 100.0),
            metering=st.none() | st.sampled_from(METERING),
            low_side_port=st.sampled_from((None, True, False)),
            high_side_port=st.sampled_from((None, True, False)),
            rated_cooling=_si("power", 0.0, 100_000.0),
            rated_bath=_si("temperature", 233.0, 333.0),
            clean_split=_si("temperature_difference", 0.0, 50.0),
        ),
        "bath": st.builds(
            Bath,
            volume=_si("volume", 0.0, 5.0),
            glycol=st.none() | st.sampled_from(GLYCOLS),
            target_strength=_si("mass_fraction", 0.0, 1.0),
            set_point=_si("temperature", 233.0, 311.0),
            differential=_si("temperature_difference", 0.0, 22.2),
        ),
        "components": COMPONENTS,
        "trunks": st.lists(
            st.builds(
                Trunk,
                code=st.just("bar"),
                glycol_bore=_si("length", 0.0, 0.0762),
                runs=st.lists(RUNS, max_size=2).map(tuple),
                beer_lines=st.just((BeerLine(tap="1", bore=parse_quantity("0.375 in", "length")), BeerLine(tap="2"))),
            ),
            max_size=1,
        ).map(tuple),
    }
)


def _unit_of(known) -> Unit:
    return Unit(tag="GU-0007", site="quay", registered_on=datetime(2023, 5, 2).date(), **known)


def _visit(readings, **more) -> Visit:
    arrived = datetime(2026, 6, 9, 19, 5, tzinfo=UTC)
    return Visit(
        id="one",
        unit="GU-0007",
        kind="service_call",
        arrived_at=arrived,
        readings=tuple(readings),
        posted_at=arrived,
        posted_by="rhea",
        time_zone="America/Denver",
        **more,
    )


@settings(max_examples=300, deadline=None)
@given(
    readings=st.lists(READING, max_size=20),
    known=UNIT,
    seen=st.lists(st.sampled_from(OBSERVATIONS), max_size=4, unique=True),
    condition=st.sampled_from(CONDITIONS),
    outcome=st.none() | st.sampled_from(OUTCOMES),
    system=st.sampled_from(("us", "si")),
)
def test_no_visit_of_valid_readings_makes_it_fail_or_print_nan(readings, known, seen, condition, outcome, system):
    replaced = Replacement(component="one", reason="failed", condition=condition, evidence="seen")
    visit = _visit(
        readings, observations=tuple(Observation(code=code) for code in seen), replacements=(replaced,), outcome=outcome
    )

    assessment = assess(visit, _unit_of(known), system)
    text = json.dumps(assessment_to_json(assessment, system), allow_nan=False)

    assert re.search(r"\b(nan|inf)\b", text.lower()) is None
    assert len(assessment.would_help) <= 2
    order = [SEVERITIES.index(finding.severity) for finding in assessment.findings]
    assert order == sorted(order)
    for finding in assessment.findings:
        assert finding.severity in ("note", "fine") or (finding.advice and finding.caution)
        assert all(math.isfinite(figure.value) for figure in finding.figures.values() if isinstance(figure, Quantity))
