"""The short form: 12 units, their first four weeks. `python -m tests.first_quarter` plays a quarter of 60."""

from datetime import timedelta

from tests.first_quarter.quarter import FROM, HOURS, played
from tests.fleet_model.run import opened


def test_the_first_weeks_of_a_taken_over_fleet_fit_the_technicians_and_answer_every_call() -> None:
    with opened(postgresql=False) as shop:
        quarter = played(shop, 3, units=12, weeks=6, days=28)

    assert max(quarter.minutes.values()) <= HOURS * 60
    assert quarter.left_over == 0
    assert quarter.too_late(FROM + timedelta(days=28)) == []
    assert quarter.answered_after
    assert max(quarter.answered_after) <= 3  # a call of Friday evening on Monday
