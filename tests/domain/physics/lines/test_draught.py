"""Line volume, restriction and gravity: sums, signs, refusals."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.physics.lines.draught import (
    Section,
    gravity_pressure,
    line_restriction,
    line_volume,
)
from service.domain.physics.lines.tubing import TUBING, NoSuchTubing, Tubing, tubing_row
from service.domain.physics.ranges import OutOfRange

BARRIER = tubing_row(Tubing.BARRIER, 0.0079375)
lengths = st.floats(0.0, 200.0)


@given(lengths, lengths)
def test_two_lengths_are_one_long_one(one: float, other: float) -> None:
    both = [Section(BARRIER, one), Section(BARRIER, other)]

    assert line_restriction(both) == pytest.approx(line_restriction([Section(BARRIER, one + other)]))


@given(st.floats(-50.0, 50.0))
def test_what_rising_costs_falling_gives_back(rise: float) -> None:
    assert gravity_pressure(-rise) == -gravity_pressure(rise)


@given(st.floats(0.002, 0.04), lengths)
def test_twice_the_bore_holds_four_times_as_much(bore: float, length: float) -> None:
    assert line_volume(bore=2 * bore, length=length) == pytest.approx(4 * line_volume(bore=bore, length=length))


@pytest.mark.parametrize("tubing", list(Tubing))
def test_narrower_tubing_of_a_kind_restricts_more(tubing: Tubing) -> None:
    rows = sorted((row for row in TUBING if row.tubing == tubing), key=lambda row: row.size)

    assert [row.restriction for row in rows] == sorted((row.restriction for row in rows), reverse=True)


def test_size_that_is_not_published_is_refused_with_those_that_are() -> None:
    with pytest.raises(NoSuchTubing, match=r"barrier of 0.0127 m; known sizes are 0.00635, 0.007938, 0.009525 m"):
        tubing_row(Tubing.BARRIER, 0.0127)


def test_size_is_found_within_a_fifth_of_a_millimetre() -> None:
    assert tubing_row(Tubing.BARRIER, 0.0095).size == pytest.approx(0.009525)


@pytest.mark.parametrize("length", [-0.1, 500.1, nan])
def test_length_outside_its_limits_is_refused(length: float) -> None:
    with pytest.raises(OutOfRange, match="length of a line"):
        Section(BARRIER, length)


@pytest.mark.parametrize("rise", [-100.1, 100.1, nan])
def test_rise_outside_its_limits_is_refused(rise: float) -> None:
    with pytest.raises(OutOfRange, match="rise"):
        gravity_pressure(rise)


@pytest.mark.parametrize("density", [949.0, 1151.0, nan])
def test_density_outside_its_limits_is_refused(density: float) -> None:
    with pytest.raises(OutOfRange, match="density of beer"):
        gravity_pressure(1.0, density)
