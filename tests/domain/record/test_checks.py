"""Checks of a visit."""

from datetime import UTC, date, datetime, timedelta

import pytest

from service.domain.errors import Fault
from service.domain.quantities import parse_quantity
from service.domain.record.checks import InService, faults_of
from service.domain.record.readings import SAMPLE_LIMIT
from service.domain.record.visits import Complaint, Observation, PartUsed, Reading, Replacement, TaskResult, Visit

NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)
ARRIVED, LEFT = NOW - timedelta(hours=2), NOW - timedelta(hours=1)
KINDS = {"pump-1": "pump", "fan-1": "condenser_fan"}


def a_visit(**changes) -> Visit:
    frame = {"id": "x", "unit": "GU-1", "kind": "maintenance", "arrived_at": ARRIVED, "left_at": LEFT}
    return Visit(**frame | {"posted_at": NOW, "posted_by": "x", "time_zone": "America/Denver"} | changes)


def faults(kinds=KINDS, installed_on=None, retired_on=None, **changes) -> list[Fault]:
    """What cannot be true of a visit so changed."""
    return faults_of(
        a_visit(**changes),
        kinds=kinds,
        now=NOW,
        in_service=InService(installed_on, retired_on),
        time_zone="America/Denver",
    )


def fields(installed_on=None, retired_on=None, **changes) -> list[str]:
    """The fields at fault in a visit so changed."""
    found = faults(installed_on=installed_on, retired_on=retired_on, **changes)
    assert all(fault.message for fault in found)
    return [fault.field for fault in found]


def reading(text="30 degF", quantity="bath_temperature", dimension="temperature", **changes) -> Reading:
    return Reading(**{"quantity": quantity, "value": parse_quantity(text, dimension), "when": "as_found"} | changes)


def part(**changes) -> Replacement:
    return Replacement(
        **{"component": "pump-1", "reason": "failed", "condition": "burnt", "evidence": "seen"} | changes
    )


def test_a_plain_visit_has_no_fault() -> None:
    assert fields() == []


def test_a_full_visit_has_no_fault() -> None:
    assert (
        fields(
            technician="rhea",
            complaint=Complaint(symptom="foaming", reported_at=ARRIVED - timedelta(days=30)),
            readings=(reading(at=ARRIVED), reading("1.3 A", "current", "current", component="fan-1")),
            tasks=(TaskResult(task="pump_check", result="not_done", reason="no key"),),
            replacements=(
                part(),
                *(
                    part(evidence="reported", by="others", on=on)
                    for on in ("2026-05-20", "2026", "2025/2026-05", "unknown")
                ),
                part(by="others", on="2026-06"),
            ),
            observations=(
                Observation(code="other", note="wet floor"),
                Observation(code="oil_stain", component="fan-1"),
            ),
        )
        == []
    )


# The clock of a telephone may be up to an hour fast; a reading reported by telephone may be two days old.
@pytest.mark.parametrize(
    ("arrived", "left", "at_fault"),
    [
        (NOW + timedelta(minutes=59), None, []),
        (NOW + timedelta(minutes=61), None, ["arrived_at"]),
        (ARRIVED, NOW + timedelta(minutes=61), ["left_at"]),
        (ARRIVED, ARRIVED, []),
        (ARRIVED, ARRIVED - timedelta(seconds=1), ["left_at"]),
        (ARRIVED - timedelta(days=8), ARRIVED - timedelta(days=1), []),
        (ARRIVED - timedelta(days=8), ARRIVED - timedelta(hours=23), ["left_at"]),
        (datetime(1970, 1, 1, tzinfo=UTC), None, []),
        (datetime(1969, 12, 31, 23, tzinfo=UTC), None, ["arrived_at"]),
    ],
)
def test_a_visit_lies_in_the_past_and_ends_after_it_began(arrived, left, at_fault) -> None:
    assert fields(arrived_at=arrived, left_at=left) == at_fault


@pytest.mark.parametrize(
    ("off", "at_fault"),
    [
        (timedelta(days=-2), []),
        (timedelta(days=-2, seconds=-1), ["readings.0.at"]),
        (timedelta(hours=2, minutes=59), []),
        (timedelta(hours=3, minutes=1), ["readings.0.at"]),
    ],
)
def test_a_reading_is_taken_about_the_time_of_the_visit_and_not_in_the_future(off, at_fault) -> None:
    assert fields(readings=(reading(at=ARRIVED + off),)) == at_fault


def test_a_reading_is_taken_up_to_two_days_after_the_end_of_a_long_visit() -> None:
    long = {"arrived_at": NOW - timedelta(days=8), "left_at": NOW - timedelta(days=4)}

    assert fields(readings=(reading(at=NOW - timedelta(days=2)),), **long) == []
    assert fields(readings=(reading(at=NOW - timedelta(days=2) + timedelta(seconds=1)),), **long) == ["readings.0.at"]


@pytest.mark.parametrize("limit", SAMPLE_LIMIT)
def test_a_sample_may_have_either_limit_of_its_temperature(limit: str) -> None:
    sample = parse_quantity(limit, "temperature")

    assert fields(readings=(reading("30 Brix", "glycol_strength", "brix", sample_temperature=sample),)) == []


def test_parts_are_promised_for_the_day_of_the_visit_at_the_earliest() -> None:
    """02:00 UTC of the 9th is the 8th in Denver."""
    evening = {"arrived_at": datetime(2026, 6, 9, 2, tzinfo=UTC), "left_at": None, "outcome": "waiting_for_parts"}

    assert fields(parts_promised_on=date(2026, 6, 8), **evening) == []
    assert fields(parts_promised_on=date(2026, 6, 7), **evening) == ["parts_promised_on"]


def test_a_complaint_comes_before_the_visit() -> None:
    late = Complaint(symptom="foaming", reported_at=NOW - timedelta(days=3))
    week = {"arrived_at": NOW - timedelta(days=7), "left_at": None}

    assert fields(complaint=late, **week) == ["complaint.reported_at"]
    assert fields(complaint=Complaint(symptom="foaming", reported_at=NOW + timedelta(hours=2))) == [
        "complaint.reported_at"
    ]


@pytest.mark.parametrize(
    ("changes", "at_fault"),
    [
        ({"by": "others", "evidence": "reported", "firm": "Another firm"}, []),
        ({"by": "others"}, ["evidence"]),
        ({"by": "others", "evidence": "reported", "technician": "rhea"}, ["technician"]),
        ({"firm": "Another firm"}, ["firm"]),
    ],
)
def test_a_visit_by_others_is_reported_and_by_nobody_of_ours(changes, at_fault) -> None:
    assert fields(**changes) == at_fault


def test_a_retired_unit_is_visited_up_to_its_last_day_at_the_site() -> None:
    """19:00 UTC is still the 9th in Denver; 07:00 UTC of the 10th is the 10th."""
    assert fields(retired_on=date(2026, 6, 9)) == []
    assert fields(retired_on=date(2026, 6, 8)) == ["unit"]


def test_a_unit_is_visited_from_its_first_day_at_the_site_on() -> None:
    assert fields(installed_on=date(2026, 6, 9)) == []
    assert fields(installed_on=date(2026, 6, 10)) == ["unit"]


@pytest.mark.parametrize(
    ("wrong", "at_fault"),
    [
        (reading("300 degF"), "value"),
        (reading("30 psi", dimension="pressure"), "value"),
        (reading("-1 A", "current", "current", component="fan-1"), "value"),
        (reading("1 A", "current", "current"), "component"),
        (reading(quantity="beer_temperature_at_tap"), "tap"),
        (reading(component="pump-9"), "component"),
        (reading(sample_temperature=parse_quantity("20 degC", "temperature")), "sample_temperature"),
        (
            reading("30 Brix", "glycol_strength", "brix", sample_temperature=parse_quantity("200 degC", "temperature")),
            "sample_temperature",
        ),
    ],
)
def test_a_reading_that_cannot_be_is_reported_by_its_place(wrong, at_fault) -> None:
    assert fields(readings=(reading(), wrong)) == [f"readings.1.{at_fault}"]


@pytest.mark.parametrize(
    ("wrong", "at_fault"),
    [
        (part(component="pump-9"), "component"),
        (part(evidence="reported"), "on"),
        (part(by="others"), "on"),
        (part(on="2026-06-10"), "on"),
        (part(on="2026-05"), "on"),
        (part(evidence="reported", on="2026-07"), "on"),
        (part(evidence="reported", on="2026-05/2026-04"), "on"),
    ],
)
def test_a_replacement_that_cannot_be_is_reported_by_its_place(wrong, at_fault) -> None:
    assert fields(replacements=(part(), wrong)) == [f"replacements.1.{at_fault}"]


def test_a_replacement_without_its_day_is_named_by_whose_it_is() -> None:
    reported, others = faults(replacements=(part(evidence="reported"), part(by="others")))

    assert reported.message.startswith("is required for a reported replacement;")
    assert others.message.startswith("is required for a replacement by others;")


@pytest.mark.parametrize(("recorded", "more"), [(20, ""), (21, " and 1 more"), (23, " and 3 more")])
def test_a_component_that_is_not_there_is_answered_with_twenty_that_are(recorded: int, more: str) -> None:
    kinds = {f"fan-{n:02}": "condenser_fan" for n in range(1, recorded + 1)}
    (fault,) = faults(kinds, readings=(reading(component="pump-9"),))

    assert f"fan-19, fan-20{more}); give its kind too" in fault.message


@pytest.mark.parametrize(
    ("changes", "at_fault"),
    [
        ({"technician": "rhea", "crew": ("sol", "tobin")}, []),
        ({"technician": "rhea", "crew": ("sol", "rhea", "sol")}, ["crew.1", "crew.2"]),
        ({"crew": ("sol",)}, ["technician"]),
        ({"by": "others", "evidence": "reported", "crew": ("sol",)}, ["crew"]),
    ],
)
def test_a_crew_is_ours_beside_its_technician_and_each_is_named_once(changes, at_fault) -> None:
    assert fields(**changes) == at_fault


def test_of_a_part_used_up_it_is_said_how_many_or_how_much() -> None:
    litre = parse_quantity("1 L", "volume")
    used = (
        PartUsed(description="glycol"),
        PartUsed(description="o-ring", count=2),
        PartUsed(description="glycol", quantity=litre),
    )

    assert fields(parts_used=used) == ["parts_used.0"]


def test_a_replacement_at_a_visit_is_not_of_a_later_day() -> None:
    week = {"arrived_at": NOW - timedelta(days=7), "left_at": NOW - timedelta(days=7)}

    assert fields(replacements=(part(on="2026-06-02"),), **week) == []
    assert fields(replacements=(part(on="2026-06-03"),), **week) == ["replacements.0.on"]


def test_a_task_is_listed_once_and_needs_a_reason_if_not_done() -> None:
    done, skipped = TaskResult(task="pump_check", result="done"), TaskResult(task="trunk_check", result="not_done")

    assert fields(tasks=(done, skipped, done)) == ["tasks.1.reason", "tasks.2.task"]


def test_an_observation_beyond_the_list_needs_a_note() -> None:
    assert fields(observations=(Observation(code="other"), Observation(code="oil_stain", component="x"))) == [
        "observations.1.component",
        "observations.0.note",
    ]


def test_a_fault_names_the_value_as_it_was_typed_and_the_limit() -> None:
    (fault,) = faults(readings=(reading("300 degF"),))

    assert (fault.value, "140 degF" in fault.message) == ("300 degF", True)
