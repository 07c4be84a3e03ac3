"""A site's surroundings and closed days, a unit's settings: a year that is over keeps those of its days.

Days are worked out by hand: three months in clean air, in greasy air half of it (the catalogue's factor).
"""

from datetime import UTC, datetime, timedelta
from typing import Any

import orjson
import pytest

from tests.api.resources.following import export, take_in

DONE = [{"task": task, "result": "done"} for task in ("condenser_clean", "pump_check")]
YEAR = "/v1/customers/lantern/service-summaries"
SITE = {"surroundings": "clean", "closed_weekdays": []}
FIXED = {"bath": {"set_point": "28 degF", "target_strength": "35 mass%", "glycol": "propylene"}}


@pytest.fixture
def lived(shop: Any) -> Any:
    """A unit in clean air, cleaned and its pump checked on 2026-01-10 and on 2026-03-20, and it is 2027-02-01."""
    shop.now = datetime(2026, 1, 2, 12, tzinfo=UTC)
    shop.post("/v1/customers", shop.example("customer"))
    shop.post("/v1/technicians", shop.example("technician"))
    shop.post("/v1/sites", shop.example("site") | SITE)
    shop.unit(registered_on="2026-01-02", **FIXED)
    for day in ("2026-01-10", "2026-03-20"):
        shop.now = datetime.fromisoformat(f"{day}T20:00:00Z")
        shop.visit(
            day,
            tasks=DONE,
            outcome="running",
            readings=[{"quantity": "glycol_strength", "when": "as_found", "value": "30 mass%"}],
        )
    shop.now = datetime(2027, 2, 1, 12, tzinfo=UTC)
    return shop


def year(shop: Any, number: int = 2026, more: str = "") -> Any:
    found = shop.get(f"{YEAR}/{number}{more}")
    for name in ("as_of", "program_version"):
        found.pop(name)
    return found


def cleanings(shop: Any, number: int = 2026) -> list[tuple[str | None, str]]:
    (unit,) = year(shop, number)["units"]
    return [(each["due_on"], each["state"]) for each in unit["pm_lines"] if each["task"] == "condenser_clean"]


def change(shop: Any, path: str, body: Any) -> None:
    shop.patch(path, body, shop.get(path)["version"])


def refilled(shop: Any, lines: bytes) -> None:
    """An empty database into which a file was imported, at the same time of day."""
    now = shop.now
    shop.empty()
    shop.now = now
    take_in(shop, lines)


def test_a_past_year_keeps_the_surroundings_closed_days_and_settings_of_its_days(lived) -> None:
    before = year(lived)
    change(lived, "/v1/sites/lantern-quay", {"surroundings": "greasy", "closed_weekdays": ["friday"]})
    change(lived, "/v1/units/GU-0007", {"bath": {"set_point": "31 degF", "target_strength": "40 mass%"}})
    change(lived, "/v1/units/GU-0007", {"components": [{"code": "pump-1", "rated_current": "9 A"}]})

    assert before["units"][0]["set_point"] is not None
    assert year(lived) == before
    assert lived.get("/v1/sites/lantern-quay")["surroundings"] == "greasy"


def test_each_day_is_judged_by_the_surroundings_when_it_began(lived) -> None:
    """Greasy from 2026-04-01: half of three months after 03-20 is in May, three months after it is 06-20."""
    assert cleanings(lived)[1:] == [("2026-04-10", "on_time"), ("2026-06-20", "missed")]
    lived.now = datetime(2026, 4, 1, 12, tzinfo=UTC)
    change(lived, "/v1/sites/lantern-quay", {"surroundings": "greasy"})
    lived.now = datetime(2027, 2, 1, 12, tzinfo=UTC)
    on_time, missed = cleanings(lived)[1:]

    assert on_time == ("2026-04-10", "on_time")
    assert missed[1] == "missed"
    assert missed[0] < "2026-05-15"


def test_the_list_of_a_past_day_goes_by_the_closed_days_known_then(lived) -> None:
    """Due on Saturday 2026-06-20."""

    def due() -> str:
        stops = lived.get("/v1/pm-list?on=2026-04-01&horizon_days=120")["stops"]
        found: str = next(i["due_on"] for stop in stops for i in stop["items"] if i["task"] == "pump_check")
        return found

    assert due() == "2026-06-20"
    change(lived, "/v1/sites/lantern-quay", {"closed_weekdays": ["saturday"]})
    assert due() == "2026-06-20"
    assert lived.due()["pump_check"]["due_on"] == "2026-06-19"


def test_what_was_recorded_on_the_day_of_registration_holds_for_the_time_before(lived) -> None:
    lived.now = datetime(2027, 3, 1, 12, tzinfo=UTC)
    change(lived, "/v1/sites/lantern-quay", {"surroundings": "greasy"})
    change(lived, "/v1/units/GU-0007", {"registered_on": "2027-03-01"})

    assert cleanings(lived)[1][1] == "late"


def test_past_years_are_the_same_after_an_export_and_an_import(lived) -> None:
    lived.now = datetime(2026, 4, 1, 12, tzinfo=UTC)
    change(lived, "/v1/sites/lantern-quay", {"surroundings": "greasy"})
    lived.now += timedelta(days=1)
    change(lived, "/v1/units/GU-0007", {"bath": {"set_point": "31 degF"}, "tag": "GU-0070"})
    lived.now += timedelta(days=400)
    change(lived, "/v1/units/GU-0070", {"bath": {"set_point": "33 degF"}})
    before, lines = [year(lived, 2026), year(lived, 2027)], export(lived)
    assert take_in(lived, lines)["added"] == {}
    refilled(lived, lines)

    assert [year(lived, 2026), year(lived, 2027)] == before
    assert export(lived) == lines


def test_a_file_that_changes_facts_dates_them_by_the_changes_it_has_or_by_itself(lived) -> None:
    lines = export(lived)
    lived.now = datetime(2026, 4, 1, 12, tzinfo=UTC)
    change(lived, "/v1/sites/lantern-quay", {"surroundings": "greasy"})
    lived.now = datetime(2027, 2, 1, 12, tzinfo=UTC)
    greasy, newer = year(lived), export(lived)

    refilled(lived, lines)
    take_in(lived, newer)
    assert year(lived)["units"][0]["pm_lines"] == greasy["units"][0]["pm_lines"]
    assert export(lived) == newer

    plain = [line for line in newer.splitlines() if orjson.loads(line)["record"] == "site"]
    refilled(lived, lines)
    take_in(lived, plain[0])
    changes = [each for each in map(orjson.loads, export(lived).splitlines()) if each["record"] == "change"]
    assert [(each["of"], each["at"][:10]) for each in changes] == [("site", "2027-02-01")]
    assert cleanings(lived)[1:] == [("2026-04-10", "on_time"), ("2026-06-20", "missed")]


@pytest.mark.parametrize(
    ("of", "facts"),
    [
        ("site", {"surroundings": "wet"}),
        ("site", {"closed_weekdays": ["someday"]}),
        ("site", {"closed_weekdays": 7}),
        ("unit", {"bath": {"set_point": "28"}}),
        ("unit", {"bath": {"colour": "red"}}),
        ("unit", {"bath": 7}),
        ("unit", {"ratings": {"pump-1": "3 psi"}}),
    ],
)
def test_a_line_with_other_facts_is_refused(lived, of, facts) -> None:
    line = {"record": "change", "of": of, "key": "x", "at": "2026-04-01T00:00:00Z", "by": "Ida", "after": facts}
    answer = lived.app.test_client().post(
        "/v1/imports", data=orjson.dumps(line), content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {lived.tokens['owner']}"},
    )  # fmt: skip

    assert answer.status_code == 422, answer.text
