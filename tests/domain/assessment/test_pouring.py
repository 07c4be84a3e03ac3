"""Beer at the tap: warm or not, why, and how much to purge."""

import pytest

RUN = {"surroundings": "underground", "length": "200 ft", "temperature": "60 degF"}


def trunk(*runs, bore="0.375 in", taps=("1", "2", "3", "4")):
    return {"trunks": [{"code": "bar", "runs": list(runs), "beer_lines": [{"tap": tap, "bore": bore} for tap in taps]}]}


# Brewers Association: 38 °F at the faucet. Above 40 °F as clearly warm: common practice, no source.
@pytest.mark.parametrize(("degrees", "severity"), [(37, None), (38, None), (40, "note"), (44, "act")])
def test_beer_is_wanted_at_38_or_less(findings, degrees, severity):
    found = findings(f"beer_temperature_at_tap[1] {degrees} degF").get("beer_warm")

    assert (found.severity if found else None) == severity


# Common practice, no source.
def test_beer_from_a_cold_cooler_near_the_grounds_temperature_stood_uncooled(findings):
    found = findings("beer_temperature_at_tap[1] 58 degF found", "cooler_temperature 35 degF found", known=trunk(RUN))

    assert "close to the 60 °F of its underground run" in found["beer_stands_uncooled"].sentence
    assert found["beer_stands_uncooled"].figures["way_gone"].value == pytest.approx(23 / 25, abs=0.001)


def test_beer_a_little_warm_did_not_stand_uncooled(findings):
    assert "beer_stands_uncooled" not in findings(
        "beer_temperature_at_tap[1] 42 degF", "cooler_temperature 35 degF", known=trunk(RUN)
    )


# Common practice, no source: two to three 60 fl oz pitchers a tap for 160 to 250 ft of 3/8 in, four for a longer one.
@pytest.mark.parametrize(("feet", "low", "high"), [(160, 1.9, 2.3), (250, 2.8, 3.2), (330, 3.9, 4.3)])
def test_a_tap_takes_the_trades_pitchers_to_clear(findings, feet, low, high):
    found = findings("beer_temperature_at_tap[1] 58 degF", known=trunk(RUN | {"length": f"{feet} ft"}))["purge_lines"]

    assert low <= found.figures["pitchers"] <= high


# Geometry: 0.7344 fl oz a foot of 3/8 in line.
def test_only_the_warm_lines_are_to_be_purged_and_only_outside_the_cooler(findings):
    known = trunk(RUN | {"length": "100 ft"}, {"surroundings": "cooler", "length": "40 ft"})
    warm = [
        "beer_temperature_at_tap[1] 58 degF",
        "beer_temperature_at_tap[2] 50 degF",
        "beer_temperature_at_tap[3] 36 degF",
    ]
    found = findings(*warm, known=known)["purge_lines"]

    assert found.figures["volume"].value / 2.95735e-5 == pytest.approx(2 * 73.44, rel=1e-3)
    assert found.figures["taps"] == "1, 2"


def test_beer_is_not_purged_while_the_bath_is_warm(findings):
    found = findings("beer_temperature_at_tap[1] 58 degF", "bath_temperature 60 degF", known=trunk(RUN))["purge_lines"]

    assert "Do not purge yet" in found.advice


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        (["cooler_temperature 46 degF"], "Start at the cooler"),
        (["cooler_temperature 36 degF", "bath_temperature 48 degF"], "Start at the bath"),
        (["cooler_temperature 36 degF", "bath_temperature 30 degF"], "check the loop"),
        (["beer_temperature_at_tap[2] 36 degF"], "this keg, line and faucet"),
        ([], "Read cooler and bath next"),
    ],
)
def test_where_to_look_follows_from_what_else_was_read(findings, readings, words):
    assert words in findings("beer_temperature_at_tap[1] 48 degF", *readings)["beer_warm"].advice


# FDA Food Code 3-501.16: 41 °F.
@pytest.mark.parametrize(("degrees", "severity"), [(36, "fine"), (40, "note"), (43, "act")])
def test_the_cooler_is_judged_by_beer_and_by_food(findings, degrees, severity):
    (found,) = findings(f"cooler_temperature {degrees} degF").values()

    assert found.severity == severity
