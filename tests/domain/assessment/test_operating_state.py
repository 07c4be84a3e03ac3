"""The operating state from what was measured. Expected states: common practice, no source, where no other is named."""

import pytest

from service.domain.assessment.assess import assess
from service.domain.assessment.clues import LOOKS
from service.domain.assessment.evidence import gather
from service.domain.assessment.operating_state import STATES, UNKNOWN, operating_state
from tests.domain.assessment.conftest import unit, visit

KNOWN = {
    "bath": {"set_point": "28 degF", "differential": "4 deltaF", "volume": "10 gal"},
    "refrigeration": {"refrigerant": "R-134a", "metering": "capillary"},
    "supply": {"voltage": "115 V", "phases": 1},
    "components": [
        {"code": "comp-1", "kind": "compressor", "rated_current": "9.8 A"},
        {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1 A"},
        {"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"},
    ],
}

# Pressures of a unit at rest: both gauges at the saturation pressure of the bath, 25 psi for R-134a at 29 °F
# (CoolProp 8); of a running one: 16 and 131 psi with air at 85 °F, from a steady cycle calculated with CoolProp 8.
SEEN = [
    ("off", ["supply_voltage 0 V", "current[comp-1] 0 A", "current[pump-1] 0 A", "bath_temperature 60 degF"]),
    ("idle", ["supply_voltage 118 V", "current[comp-1] 0 A", "current[pump-1] 4 A", "bath_temperature 60 degF"]),
    ("pulling_down", ["current[comp-1] 8.2 A", "bath_temperature 62 degF"]),
    ("pulling_down", ["bath_temperature 80 degF @0", "bath_temperature 60 degF @20"]),
    ("holding", ["current[comp-1] 8.2 A", "bath_temperature 29 degF"]),
    (
        "holding",
        ["suction_pressure 16 psi", "discharge_pressure 131 psi", "ambient_temperature 85 degF",
         "bath_temperature 29 degF"],
    ),
    ("satisfied", ["current[comp-1] 0 A", "bath_temperature 29 degF"]),
    (
        "satisfied",
        ["suction_pressure 25.3 psi", "discharge_pressure 25.5 psi", "ambient_temperature 75 degF",
         "bath_temperature 29 degF"],
    ),
    (
        "starting",
        ["current[comp-1] 0 A @0", "suction_pressure 28 psi @0", "discharge_pressure 29 psi @0",
         "bath_temperature 34 degF @0", "current[comp-1] 9 A @3", "suction_pressure 10 psi @3",
         "discharge_pressure 112 psi @3"],
    ),
    ("starting", ["current[comp-1] 0 A @0 found", "current[comp-1] 9 A @8", "bath_temperature 40 degF @8"]),
    (
        "starting",
        ["suction_pressure 28 psi @0", "discharge_pressure 29 psi @0", "suction_pressure 9 psi @4",
         "discharge_pressure 108 psi @4", "bath_temperature 33.5 degF @0", "ambient_temperature 80 degF @4"],
    ),
    ("pulling_down", ["current[comp-1] 0 A @0", "current[comp-1] 9 A @20", "bath_temperature 40 degF @20"]),
    (
        "short_cycling",
        ["current[comp-1] 8 A @0", "current[comp-1] 0 A @2", "current[comp-1] 8 A @4", "bath_temperature 31 degF"],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("state", "readings"), SEEN)
def test_what_was_measured_gives_the_state(state, readings):
    found = operating_state(gather(visit(*readings), unit(**KNOWN), "us"))

    assert found.state == state, found
    assert 0.5 < found.probability <= 1.0
    assert len(found.evidence) >= 1


@pytest.mark.parametrize(
    ("minutes", "steady"),
    [(4, False), (14, False), (15, True), (40, True)],  # steady after 15 min of running: common practice, no source
)
def test_figures_of_steady_running_wait_for_it(minutes, steady):
    rest = ("suction_pressure 28 psi @0", "discharge_pressure 29 psi @0")
    run = (f"suction_pressure 9 psi @{minutes}", f"discharge_pressure 108 psi @{minutes}")
    lines = (f"suction_line_temperature 46 degF @{minutes}", f"bath_temperature 30 degF @{minutes}")

    found = {each.code for each in assess(visit(*rest, *run, *lines), unit(**KNOWN), "us").findings}

    assert (found >= {"superheat_high"}) == steady
    assert (found >= {"pressures_after_start"}) == (not steady)


def test_equal_pressures_of_a_compressor_that_draws_its_current_are_no_rest():
    gauges = ("suction_pressure 60 psi @0", "discharge_pressure 62 psi @0")

    found = operating_state(
        gather(visit(*gauges, "current[comp-1] 8 A @2", "bath_temperature 50 degF @2"), unit(**KNOWN), "us")
    )

    assert found.state != "starting"


def test_equal_pressures_after_a_start_are_said_once():
    gauges = ("suction_pressure 50 psi @5", "discharge_pressure 52 psi @5")
    lines = ("current[comp-1] 0 A @0", "current[comp-1] 8 A @5", *gauges)
    found = {each.code for each in assess(visit(*lines), unit(**KNOWN), "us").findings}

    assert found >= {"pressures_equal_running"}
    assert "pressures_after_start" not in found


def test_a_visit_without_readings_says_nothing_of_the_state():
    found = operating_state(gather(visit(), unit(), "us"))

    assert found.state == UNKNOWN
    assert found.evidence == ()


@pytest.mark.parametrize("bath", [42, 75])
def test_a_warm_bath_alone_does_not_show_whether_the_unit_runs(bath):
    # two readings decide most cases, the compressor's current and the bath's trend; neither was taken
    assert operating_state(gather(visit(f"bath_temperature {bath} degF"), unit(**KNOWN), "us")).state == UNKNOWN


def test_each_moment_has_a_state_of_its_own():
    found = ("current[comp-1] 0 A found", "current[pump-1] 4 A found", "bath_temperature 60 degF found")
    read = visit(*found, "current[comp-1] 8 A", "bath_temperature 55 degF")

    states = [operating_state(gather(read, unit(**KNOWN), "us", moment)).state for moment in ("as_found", "as_left")]

    assert states == ["idle", "pulling_down"]


def test_every_clue_has_a_likelihood_for_every_state():
    for _, readings in SEEN:
        evidence = gather(visit(*readings), unit(**KNOWN), "us")
        for look in LOOKS:
            for clue in look(evidence):
                assert len(clue.likelihood) == len(STATES)
                assert all(0.0 <= like <= 1.0 for like in clue.likelihood)
