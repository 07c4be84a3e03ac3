"""What is counted in memory, and that it stays within its bounds."""

from datetime import UTC, datetime, timedelta

import pytest

from service.api import limits

NOW = datetime(2026, 6, 9, 19, 5, tzinfo=UTC)
SECOND = timedelta(seconds=1)


def tried(attempts: limits.Attempts, times: int, address: str = "192.0.2.1") -> None:
    for _ in range(times):
        attempts.failed(address, NOW)


def test_attempts_are_free_up_to_the_limit_and_wait_for_the_minute_to_end() -> None:
    attempts = limits.Attempts(3)
    tried(attempts, 2)
    assert attempts.wait("192.0.2.1", "x", NOW) == 0
    tried(attempts, 1)

    assert attempts.wait("192.0.2.1", "x", NOW) == 60
    assert attempts.wait("192.0.2.1", "x", NOW + 59.5 * SECOND) == 1
    assert attempts.wait("192.0.2.1", "x", NOW + 60 * SECOND) == 0
    assert attempts.wait("192.0.2.2", "x", NOW) == 0


def test_a_clock_that_is_set_back_shuts_nobody_out() -> None:
    attempts = limits.Attempts(3)
    tried(attempts, 3)

    assert attempts.wait("192.0.2.1", "x", NOW - timedelta(days=1)) == 0


def test_a_token_that_opened_before_stays_usable_at_its_address_alone() -> None:
    attempts = limits.Attempts(3)
    attempts.opened("192.0.2.1", "good")
    tried(attempts, 3)
    tried(attempts, 3, "192.0.2.2")

    assert attempts.wait("192.0.2.1", "good", NOW) == 0
    assert attempts.wait("192.0.2.1", "bad", NOW) > 0
    assert attempts.wait("192.0.2.2", "good", NOW) > 0


def test_what_is_remembered_is_bounded() -> None:
    attempts, refusals, uses = limits.Attempts(3), limits.Refusals(), limits.Uses()
    for number in range(limits.MOST_KEPT + 50):
        attempts.failed(str(number), NOW)
        attempts.opened(str(number), "x")
        refusals.is_new(str(number), "GET /", "role", NOW)
        uses.is_due(str(number), None, NOW)

    kept = (attempts._failed, attempts._opened, refusals._recorded, uses._recorded)
    assert [len(each) for each in kept] == [limits.MOST_KEPT] * 4


def test_an_ipv6_network_is_counted_as_one() -> None:
    assert limits.network_of("2001:db8::1") == limits.network_of("2001:db8::ffff") != limits.network_of("2001:db8:1::1")


def test_a_refusal_is_recorded_once_an_hour_for_each_route_and_reason() -> None:
    refusals = limits.Refusals()
    asked = [("a", "GET /", "role"), ("a", "GET /", "role"), ("a", "POST /", "role"), ("a", "GET /", "revoked")]

    assert [refusals.is_new(*each, NOW) for each in asked] == [True, False, True, True]
    assert not refusals.is_new("a", "GET /", "role", NOW + 3599 * SECOND)
    assert refusals.is_new("a", "GET /", "role", NOW + 3600 * SECOND)


def test_the_refusals_recorded_of_a_token_in_an_hour_are_bounded() -> None:
    refusals = limits.Refusals()

    assert sum(refusals.is_new("a", f"GET /{n}", "role", NOW) for n in range(1000)) == limits.MOST_REFUSALS
    assert refusals.is_new("b", "GET /", "role", NOW)


@pytest.mark.parametrize(("later", "due"), [(0, False), (3599, False), (3600, True), (-7200, False)])
def test_a_use_is_recorded_once_an_hour(later: int, due: bool) -> None:
    uses = limits.Uses()
    assert uses.is_due("a", None, NOW)

    assert uses.is_due("a", None, NOW + later * SECOND) == due
    assert limits.Uses().is_due("a", NOW, NOW + later * SECOND) == due
