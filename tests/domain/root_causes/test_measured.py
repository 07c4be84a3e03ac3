"""Faults that were measured, whatever has failed."""

from dataclasses import replace
from datetime import date

import pytest

from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.figures import any_measured, packed, unpacked
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.measured import LEAST_LEVEL, MEASURABLE, faults_of
from service.domain.root_causes.measured_sentences import in_words
from service.domain.root_causes.views import OVERLOAD, Tracks
from tests.simulation.values import component, done, taken

START, END = date(2023, 1, 1), date(2025, 12, 31)
PARTS = (
    component("switch-1", "power_switch", ("compressor-1",), 10.0, "ac_only"),
    component("switch-2", "power_switch", (), 20.0, "motor"),
    component("compressor-1", "compressor"),
)
DAYS = (date(2024, 2, 1), date(2024, 8, 1), date(2025, 2, 1))


def volts(*each):
    return tuple(taken("supply_voltage", None, value, "voltage", day) for value, day in zip(each, DAYS, strict=False))


def amperes(value, code="switch-1"):
    return tuple(taken("current", code, value, "current", day) for day in DAYS)


def unit(*readings, **more):
    return FailureHistory("K-1", START, END, PARTS, supply_voltage=115.0, readings=readings, **more)


def test_a_switch_that_carries_more_than_its_rating_is_a_fault_before_it_burns():
    """NEC 404.14: an AC snap switch may carry motors up to 80 % of its rating; 14 A on 10 A is more."""
    (fault,) = faults_of(unit(*amperes(14.0)))
    text = in_words(fault)["explanation"]

    assert (fault.cause, fault.component) == ("switch_undersized", "switch-1")
    assert text.startswith("Fault measured at switch-1: ")
    assert "current at switch-1 14 A on 2025-02-01" in text
    assert "switch-1 10 A, AC only" in text
    assert "No part that it harms has failed since 2023-01-01" in text


def test_a_controller_between_switch_and_compressor_is_no_load_by_its_rating():
    """NEC 404.14: 9 A of motors on a 16 A snap switch are within 12.8 A, whatever the controller between may switch."""
    switch = component("switch-1", "power_switch", ("thermostat-1",), 16.0, "ac_only")
    between = component("thermostat-1", "temperature_controller", ("compressor-1",), 16.0)
    small, large = ((switch, between, component("compressor-1", "compressor", rated=amps)) for amps in (9.0, 14.0))

    assert faults_of(replace(unit(), components=small)) == ()
    (fault,) = faults_of(replace(unit(), components=large))
    assert fault.rated == {"switch-1": "16 A, AC only", "compressor-1": "14 A"}


def test_a_switch_without_a_plate_is_no_fault_measured_but_suspected_above_what_a_usual_one_bears():
    """A 20 A switch bears 16 A of motors (NEC 404.14); 20 A as the usual rating: common practice, no source."""

    def seen(amps):
        bare = replace(unit(*amperes(amps)), components=(component("switch-1", "power_switch"),))
        return Tracks(bare).seen(OVERLOAD, "power_switch", "switch-1").measured_level, faults_of(bare)

    assert seen(12.0) == (0.0, ())
    assert seen(24.0) == (pytest.approx(0.8 * 0.45), ())


def test_a_warm_terminal_does_not_make_an_overload_by_the_ratings_measured():
    parts = (PARTS[0], component("compressor-1", "compressor", rated=14.0))
    warm = taken("terminal_temperature", "switch-1", 307.0, "temperature", DAYS[0])
    text = in_words(*faults_of(replace(unit(warm), components=parts)))["explanation"]

    assert text.startswith("Fault by the ratings at switch-1, not measured yet: ")
    assert "terminal" not in text


def test_a_load_that_follows_from_the_ratings_alone_is_not_called_measured():
    parts = (PARTS[0], component("compressor-1", "compressor", rated=14.0))
    by_rating, read = (
        in_words(*faults_of(replace(each, components=parts)))["explanation"]
        for each in (unit(), unit(*amperes(14.0, "compressor-1")))
    )

    assert by_rating.startswith("Fault by the ratings at switch-1, not measured yet: ")
    assert "Rated value: switch-1 10 A, AC only; compressor-1 14 A." in by_rating
    assert read.startswith("Fault measured at switch-1: ")
    assert "Last readings: current at compressor-1 14 A on 2025-02-01." in read


@pytest.mark.parametrize(
    ("amps", "rating", "surely"),
    [(8.5, "ac_only", True), (8.2, "ac_only", False), (8.5, None, False), (10.5, None, True), (8.5, "motor", False)],
)
def test_an_overload_is_a_fault_once_a_clamp_meter_of_3_percent_leaves_no_doubt(amps, rating, surely):
    """NEC 404.14, 430.110: a 10 A switch bears 8 A of motors AC-only, 8.7 A motor-rated; unknown, what is printed."""
    parts = (component("switch-1", "power_switch", (), 10.0, rating),)
    clean = tuple(done("condenser_clean", day, "done", "clean") for day in DAYS)

    assert bool(faults_of(replace(unit(*amperes(amps), performed=clean), components=parts))) == surely


@pytest.mark.parametrize("amps", [10.3, 10.6, 10.9, 11.2, 14.0])
def test_a_unit_with_a_fault_shows_it_in_the_figures_of_the_night(amps):
    history = unit(*amperes(amps))
    rows = unpacked([packed(history, everything=True)])

    assert any_measured(rows, MEASURABLE, LEAST_LEVEL) or faults_of(history) == ()


@pytest.mark.parametrize(("read", "cause"), [(98.0, "low_voltage"), (131.0, "high_voltage"), (112.0, None)])
def test_voltage_out_of_tolerance_is_a_fault(read, cause):
    """NEMA MG 1: motors bear 10 % either way."""
    assert [fault.cause for fault in faults_of(unit(*volts(read, read, read)))] == ([cause] if cause else [])


def test_the_last_two_readings_must_agree():
    assert faults_of(unit(*volts(117.0, 117.0, 98.0))) == ()
    assert faults_of(unit(*volts(98.0, 98.0, 117.0))) == ()
    assert [fault.since for fault in faults_of(unit(*volts(117.0, 98.0, 98.0)))] == [DAYS[1]]
    assert [fault.since for fault in faults_of(unit(*volts(98.0)))] == [DAYS[0]]


def test_what_has_failed_since_then_of_what_it_harms_is_counted():
    burnt = tuple(
        PartReplaced("compressor-1", "compressor", day, "failed", "burnt", "seen", "us", "v")
        for day in (date(2024, 1, 1), date(2024, 9, 1), date(2025, 9, 1))
    )
    (fault,) = faults_of(unit(*volts(98.0, 98.0, 98.0), replaced=burnt))

    assert fault.failed == {"compressor": 2}
    assert "Parts that it harms and that failed since 2024-02-01: compressor (2)." in in_words(fault)["explanation"]


def test_a_joint_that_drops_half_a_volt_belongs_to_its_position():
    drops = tuple(taken("contact_voltage_drop", "switch-2", 0.55, "voltage", day) for day in DAYS)
    (fault,) = faults_of(unit(*drops))

    assert (fault.cause, fault.component) == ("loose_terminal", "switch-2")


def test_a_retired_unit_has_no_fault():
    assert faults_of(replace(unit(*volts(98.0, 98.0)), retired=True)) == ()
