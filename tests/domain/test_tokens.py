"""When a token ends."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from service.domain.tokens import Token

NOW = datetime(2026, 6, 9, 19, 5, tzinfo=UTC)
TOKEN = Token(id="ab12", hash="h", name="Rhea", role="technician", units_shown="us", created_at=NOW)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({}, None),
        ({"revoked_at": NOW}, "revoked"),
        ({"expires_at": NOW}, "expired"),
        ({"expires_at": NOW + timedelta(microseconds=1)}, None),
        ({"left_on": date(2026, 6, 9)}, "technician left"),
        ({"left_on": date(2026, 6, 10)}, None),
    ],
)
def test_a_token_ends_for_one_reason(change, why) -> None:
    assert replace(TOKEN, **change).ended(NOW) == why


def test_the_day_of_leaving_begins_in_utc() -> None:
    leaving = replace(TOKEN, left_on=date(2026, 6, 10))
    evening = datetime(2026, 6, 9, 18, 0, tzinfo=timezone(timedelta(hours=-6)))  # midnight in UTC

    assert leaving.ended(evening - timedelta(microseconds=1)) is None
    assert leaving.ended(evening) == "technician left"
