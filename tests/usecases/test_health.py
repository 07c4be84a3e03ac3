"""What the clockwork reports of itself."""

import pytest

from service.domain.errors import Unavailable
from service.usecases import health
from service.usecases.health import Health
from service.usecases.system import failing_checks


def test_a_clockwork_that_ticks_is_well():
    assert failing_checks(Health().checks()) == {}


def test_a_clockwork_that_stands_still_is_reported_by_the_monotonic_clock(monkeypatch: pytest.MonkeyPatch):
    instant = 1000.0
    monkeypatch.setattr(health, "monotonic", lambda: instant)
    report = Health()
    instant += 301
    assert failing_checks(report.checks()) == {
        "clockwork": "The clockwork has not run for 5 minutes; restart the server."
    }
    report.tick()
    assert failing_checks(report.checks()) == {}


def test_a_failed_backup_is_reported_until_one_succeeds():
    report = Health()
    report.report("backup", "The last backup failed: there is no folder /backups.")
    with pytest.raises(Unavailable, match="no folder"):
        report.checks()["backup"]()
    report.report("backup", None)

    assert failing_checks(report.checks()) == {}
