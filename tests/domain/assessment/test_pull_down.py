"""The pull-down: the trade's checks, the readings that count, and what to do next."""

import pytest

BATH = {"volume": "38 L", "target_strength": "35 mass%", "set_point": "28 degF", "differential": "4 deltaF"}
RATED = {"rated_cooling": "2900 Btu/h", "rated_ambient": "90 degF", "rated_bath": "28 degF"}
CAPILLARY = {
    "refrigerant": "R-134a", "charge": "300 g", "metering": "capillary", "low_side_port": True, "high_side_port": False,
}  # fmt: skip


def baths(*pairs):
    return [f"bath_temperature {degrees} degF @{minute}" for minute, degrees in pairs]


def spoken(findings, *pairs, **more):
    (code,) = {code for code in findings(*baths(*pairs), **more) if code.startswith("pull_down_")}
    return code


# Common practice, no source.
@pytest.mark.parametrize("minutes", [15, 20])
@pytest.mark.parametrize("known", [{}, {"bath": BATH}])
def test_from_80_to_60_in_15_to_20_minutes_reads_as_recovering(findings, minutes, known):
    assert spoken(findings, (0, 80), (minutes, 60), known=known) == "pull_down_recovering"


# Common practice, no source.
@pytest.mark.parametrize("known", [{}, {"bath": BATH}])
def test_no_noticeable_change_in_10_minutes_reads_as_not_cooling(findings, known):
    assert spoken(findings, (0, 80), (10, 80), known=known) == "pull_down_not_cooling"
    assert spoken(findings, (0, 80), (10, 79.5), known=known) == "pull_down_not_cooling"


def test_no_change_in_5_minutes_is_too_early_and_advises_how_long_to_wait(findings):
    found = findings(*baths((0, 80), (5, 80)))["pull_down_too_early"]

    assert "in 5 min" in found.advice
    assert "gauges off" in found.advice


def test_a_bath_at_its_set_point_is_at_its_operating_temperature(findings):
    assert (
        "operating temperature"
        in findings(*baths((0, 31), (20, 30)), known={"bath": BATH})["pull_down_recovering"].sentence
    )


def test_a_bath_that_levels_off_above_its_set_point_is_slow(findings):
    found = findings(*baths((0, 80), (20, 60), (40, 51), (60, 47), (80, 45.2)), known={"bath": BATH})["pull_down_slow"]

    assert "not reach 28 °F" in found.sentence


# 38 L of 35 % hold 147 kJ/K: 20 °F in 20 min are 1.36 kW. 2900 Btu/h are 850 W; a warm bath gets at most 1.55 of that.
def test_the_share_of_the_rating_is_given(findings):
    found = findings(*baths((0, 80), (20, 60)), known={"bath": BATH, "refrigeration": RATED})["pull_down_recovering"]

    assert found.figures["share_of_rating_at_least"].value == pytest.approx(1.36 / (0.85 * 1.55), rel=0.02)
    assert "104 %" in found.sentence


def test_without_the_rating_no_share_of_it_is_given(findings):
    found = findings(*baths((0, 80), (20, 60)), known={"bath": BATH})["pull_down_recovering"]

    assert "share_of_rating_at_least" not in found.figures
    assert "rating" not in found.sentence


def test_time_to_the_set_point_is_given_as_the_earliest(findings):
    found = findings(*baths((0, 80), (20, 60)), known={"bath": BATH})["pull_down_recovering"]

    assert found.figures["time_to_aim_at_least"].value == pytest.approx(32 * 60, rel=0.01)
    assert "will reach 28 °F in 32 min at the earliest" in found.sentence


def test_gauges_come_last_on_a_small_charge_with_a_low_side_port(findings):
    found = findings(*baths((0, 80), (10, 80)), known={"refrigeration": CAPILLARY})["pull_down_not_cooling"]

    assert "Gauges last" in found.advice


def test_a_hose_that_would_swallow_the_charge_stays_off(findings):
    tiny = {**CAPILLARY, "charge": "60 g", "high_side_port": True}
    found = findings(*baths((0, 80), (10, 80)), known={"refrigeration": tiny})["pull_down_not_cooling"]

    assert "Leave the gauges off" in found.advice


def test_a_valve_unit_with_both_ports_may_have_gauges(findings):
    large = {**CAPILLARY, "charge": "2 kg", "high_side_port": True, "metering": "expansion_valve"}
    found = findings(*baths((0, 80), (10, 80)), known={"refrigeration": large})["pull_down_not_cooling"]

    assert "Then connect gauges" in found.advice


def test_readings_without_their_times_give_no_pull_down(findings):
    assert not any(
        code.startswith("pull_down") for code in findings("bath_temperature 80 degF", "bath_temperature 60 degF")
    )


def test_a_bath_that_warmed_while_the_unit_was_repaired_counts_from_its_warmest(findings):
    assert spoken(findings, (0, 47), (30, 60), (50, 45)) == "pull_down_recovering"


def test_a_bath_that_only_warms_is_not_cooling(findings):
    assert spoken(findings, (0, 47), (10, 50), (20, 53)) == "pull_down_not_cooling"


def test_two_readings_as_left_count_alone(findings):
    found = ["bath_temperature 80 degF @0 found", "bath_temperature 80 degF @10 found"]

    assert "pull_down_recovering" in findings(*found, *baths((40, 80), (60, 60)))
    assert "pull_down_not_cooling" in findings(*found)


@pytest.mark.parametrize("pairs", [((0, 80), (20, 60)), ((0, 80), (0, 80), (20, 60))])
def test_the_same_instant_twice_counts_once(findings, pairs):
    assert spoken(findings, *pairs) == "pull_down_recovering"


def test_a_bath_cooling_down_is_noted_as_warm_and_not_blamed(findings):
    assert findings(*baths((0, 80), (20, 60)))["bath_warm"].severity == "note"
    assert findings(*baths((0, 80), (20, 80)))["bath_warm"].severity == "act"


def test_a_bath_as_left_that_is_timed_before_it_was_found_shows_no_pull_down(findings):
    found = findings("bath_temperature 47 degF @60 found", "bath_temperature 31 degF @10")

    assert "times_contradict" in found
    assert not any(code.startswith("pull_down") for code in found)
