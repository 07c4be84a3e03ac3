"""The bath coming down: the trade's checks, the readings that count, and what to do next."""

import pytest

BATH = {"volume": "38 L", "target_strength": "35 mass%", "set_point": "28 degF", "differential": "4 deltaF"}
RATED = {"rated_cooling": "2900 Btu/h", "rated_ambient": "90 degF", "rated_bath": "28 degF"}
CAPILLARY = {
    "refrigerant": "R-134a", "charge": "300 g", "metering": "capillary", "low_side_port": True, "high_side_port": False,
}  # fmt: skip


def baths(*pairs):
    return [f"bath_temperature {degrees} degF @{minute}" for minute, degrees in pairs]


def spoken(said, *pairs, **more):
    (code,) = {code for code in said(*baths(*pairs), **more) if code.startswith("pull_down_")}
    return code


# Common practice, no source.
@pytest.mark.parametrize("minutes", [15, 20])
@pytest.mark.parametrize("known", [{}, {"bath": BATH}])
def test_from_80_to_60_in_15_to_20_minutes_reads_as_recovering(said, minutes, known):
    assert spoken(said, (0, 80), (minutes, 60), known=known) == "pull_down_recovering"


# Common practice, no source.
@pytest.mark.parametrize("known", [{}, {"bath": BATH}])
def test_no_noticeable_change_in_10_minutes_reads_as_not_cooling(said, known):
    assert spoken(said, (0, 80), (10, 80), known=known) == "pull_down_not_cooling"
    assert spoken(said, (0, 80), (10, 79.5), known=known) == "pull_down_not_cooling"


def test_no_change_in_5_minutes_is_too_early_and_says_until_when_to_wait(said):
    told = said(*baths((0, 80), (5, 80)))["pull_down_too_early"]

    assert "in 5 min" in told.advice
    assert "gauges off" in told.advice


def test_a_bath_at_its_set_point_is_where_it_is_to_be_kept(said):
    assert "kept" in said(*baths((0, 31), (20, 30)), known={"bath": BATH})["pull_down_recovering"].sentence


def test_a_bath_that_levels_off_above_its_set_point_is_slow(said):
    told = said(*baths((0, 80), (20, 60), (40, 51), (60, 47), (80, 45.2)), known={"bath": BATH})["pull_down_slow"]

    assert "will not reach 28 °F" in told.sentence


# 38 L of 35 % hold 147 kJ/K: 20 °F in 20 min are 1.36 kW. 2900 Btu/h at 28 °F are worth 1.52 kW at 50 °F and over.
def test_the_share_of_the_rating_is_told(said):
    told = said(*baths((0, 80), (20, 60)), known={"bath": BATH, "refrigeration": RATED})["pull_down_recovering"]

    assert told.figures["share_of_rating_at_least"].value == pytest.approx(1.36 / 1.52, rel=0.02)
    assert "90 %" in told.sentence


def test_without_the_rating_no_share_of_it_is_told(said):
    told = said(*baths((0, 80), (20, 60)), known={"bath": BATH})["pull_down_recovering"]

    assert "share_of_rating_at_least" not in told.figures
    assert "rating" not in told.sentence


def test_time_to_the_set_point_is_told_as_the_earliest(said):
    told = said(*baths((0, 80), (20, 60)), known={"bath": BATH})["pull_down_recovering"]

    assert told.figures["time_to_aim_at_least"].value == pytest.approx(32 * 60, rel=0.01)
    assert "28 °F is 32 min away at the earliest" in told.sentence


def test_gauges_come_last_on_a_small_charge_with_a_low_side_port(said):
    told = said(*baths((0, 80), (10, 80)), known={"refrigeration": CAPILLARY})["pull_down_not_cooling"]

    assert "Gauges last" in told.advice


def test_a_hose_that_would_swallow_the_charge_stays_off(said):
    tiny = {**CAPILLARY, "charge": "60 g", "high_side_port": True}
    told = said(*baths((0, 80), (10, 80)), known={"refrigeration": tiny})["pull_down_not_cooling"]

    assert "Leave the gauges off" in told.advice


def test_a_valve_unit_with_both_ports_may_have_gauges(said):
    large = {**CAPILLARY, "charge": "2 kg", "high_side_port": True, "metering": "expansion_valve"}
    told = said(*baths((0, 80), (10, 80)), known={"refrigeration": large})["pull_down_not_cooling"]

    assert "Then connect gauges" in told.advice


def test_readings_without_their_times_tell_no_pull_down(said):
    assert not any(
        code.startswith("pull_down") for code in said("bath_temperature 80 degF", "bath_temperature 60 degF")
    )


def test_a_bath_that_warmed_while_the_unit_was_mended_counts_from_its_warmest(said):
    assert spoken(said, (0, 47), (30, 60), (50, 45)) == "pull_down_recovering"


def test_a_bath_that_only_warms_is_not_cooling(said):
    assert spoken(said, (0, 47), (10, 50), (20, 53)) == "pull_down_not_cooling"


def test_two_readings_as_left_count_alone(said):
    found = ["bath_temperature 80 degF @0 found", "bath_temperature 80 degF @10 found"]

    assert "pull_down_recovering" in said(*found, *baths((40, 80), (60, 60)))
    assert "pull_down_not_cooling" in said(*found)


@pytest.mark.parametrize("pairs", [((0, 80), (20, 60)), ((0, 80), (0, 80), (20, 60))])
def test_the_same_instant_twice_counts_once(said, pairs):
    assert spoken(said, *pairs) == "pull_down_recovering"


def test_a_bath_on_its_way_down_is_noted_as_warm_and_not_blamed(said):
    assert said(*baths((0, 80), (20, 60)))["bath_warm"].severity == "note"
    assert said(*baths((0, 80), (20, 80)))["bath_warm"].severity == "act"
