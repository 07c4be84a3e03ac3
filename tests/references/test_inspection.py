"""Published intervals of inspection."""

import pytest

from service.domain.maintenance.inspection import failure_finding_interval, inspections_needed
from service.domain.physics.ranges import OutOfRange


# Moubray, RCM II: 20 detectors in 4 years, 8 found failed: one failure in 10 years each; 99 % available: 73 days.
def test_the_detectors_are_tried_every_73_days():
    assert failure_finding_interval(1 - 0.99, 20 * 4 / 8 * 365) == pytest.approx(73.0)


# Moubray, RCM II: the interval as a percentage of the mean time between failures, for the availability wanted.
@pytest.mark.parametrize(
    ("available", "percent"), [(99.95, 0.1), (99.9, 0.2), (99.5, 1.0), (99.0, 2.0), (97.0, 6.0), (95.0, 10.0)]
)
def test_the_interval_is_this_share_of_the_mean_time(available, percent):
    assert failure_finding_interval(1 - available / 100, 100.0) == pytest.approx(percent)


# NAVAIR 00-25-403: n = ln P / ln(1 - theta); (0.01, 0.9) gives 2.0; (0.05, 0.8) 1.861, of 90 days 48.4 days.
def test_two_inspections_that_find_nine_of_ten_miss_one_in_a_hundred():
    assert inspections_needed(accepted=0.01, detection=0.9) == pytest.approx(2.0)


def test_ninety_days_of_development_ask_for_a_look_every_48_days():
    assert 90.0 / inspections_needed(accepted=0.05, detection=0.8) == pytest.approx(48.4, abs=0.05)


@pytest.mark.parametrize(("accepted", "detection"), [(0.0, 0.9), (0.01, 1.0), (float("nan"), 0.9)])
def test_certainty_is_refused(accepted, detection):
    with pytest.raises(OutOfRange):
        inspections_needed(accepted=accepted, detection=detection)


def test_a_tenth_of_the_time_failed_is_the_most_it_takes():
    with pytest.raises(OutOfRange, match="unavailability"):
        failure_finding_interval(0.11, 3650.0)
