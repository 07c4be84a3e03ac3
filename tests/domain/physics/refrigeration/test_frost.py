"""Frost at the capillary, an observation with its meaning. Common practice, no source."""

from itertools import pairwise
from math import nan

import pytest

from service.domain.physics.ranges import OutOfRange
from service.domain.physics.refrigeration.frost import FROST_POSITIONS, frost_position


def test_two_inches_past_the_end_is_normal():
    found = frost_position(2 * 0.0254)

    assert (found.code, found.normal, found.points_at) == ("past_capillary", True, ())


def test_frost_back_on_the_capillary_is_not_normal():
    found = frost_position(-1 * 0.0254)

    assert found.code == "on_capillary"
    assert not found.normal
    assert "capillary_restricted" in found.points_at


def test_frost_far_down_the_line_is_not_normal():
    assert frost_position(2.0).code == "far_past_capillary"


@pytest.mark.parametrize(
    ("distance", "code"),
    [(-3.0, "on_capillary"), (-1e-9, "on_capillary"), (0.0, "past_capillary"), (0.5, "past_capillary"),
     (0.501, "far_past_capillary"), (10.0, "far_past_capillary")],
)  # fmt: skip
def test_each_limit_belongs_to_one_stretch(distance, code):
    assert frost_position(distance).code == code


def test_the_stretches_leave_no_gap():
    assert all(near.end == far.start for near, far in pairwise(FROST_POSITIONS))


@pytest.mark.parametrize("distance", [-3.01, 10.01, nan])
def test_a_distance_off_the_unit_is_refused(distance):
    with pytest.raises(OutOfRange, match="frost distance"):
        frost_position(distance)
