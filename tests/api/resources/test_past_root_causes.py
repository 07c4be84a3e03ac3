"""A past year of a record that was imported shows the root causes that its visits bear out."""

from datetime import UTC, datetime
from typing import Any

from tests.api.resources.burnt_switches import burn_switches
from tests.api.resources.following import export, take_in

END = datetime(2026, 12, 31, 21, tzinfo=UTC)
NOW = datetime(2028, 3, 1, 12, tzinfo=UTC)
FOUND = ("unit", "kind", "tier", "state", "cause", "probability_of_chance", "first_seen_on")


def registered(shop: Any, at: datetime) -> None:
    shop.now = at
    shop.unit(registered_on="2026-01-02", installed_on="2025-11-01")


def of_fleet(shop: Any, year: int) -> list[tuple[Any, ...]]:
    return [tuple(each[name] for name in FOUND) for each in shop.get(f"/v1/fleet-years/{year}")["root_causes"]]


def for_customer(shop: Any, year: int, more: str = "") -> list[str]:
    (unit,) = shop.get(f"/v1/customers/lantern/service-summaries/{year}{more}")["units"]
    return [f"{each['kind']}: {each['think']}" for each in unit["root_causes"]]


def test_it_is_what_a_search_at_the_end_of_that_year_finds(shop: Any) -> None:
    registered(shop, END)
    burn_switches(shop)
    (stored,) = shop.get("/v1/root-causes?as_of=2026-12-31")["items"]
    shop.empty()
    registered(shop, NOW)
    burn_switches(shop)
    (found,) = of_fleet(shop, 2026)

    assert found[:4] == ("GU-0007", "power_switch", stored["tier"], "open")
    assert found[4] == stored["causes"][0]["cause"] == "condenser_fouled"
    assert abs(found[5] - stored["probability_of_chance"]) < 1e-9
    assert found[6] == "2026-06-01"
    assert len(for_customer(shop, 2026)) == 1
    assert for_customer(shop, 2026, "?as_of=2027-06-01T00:00:00Z") == []  # nothing had been recorded by then


def test_one_of_a_record_kept_day_by_day_is_shown_as_it_was_found(shop: Any) -> None:
    registered(shop, datetime(2026, 1, 2, 12, tzinfo=UTC))
    for day in ("2026-01-12", "2026-02-16", "2026-03-23"):
        shop.now = datetime.fromisoformat(f"{day}T21:00:00Z")
        burn_switches(shop, [day], blocked=day == "2026-03-23")
    (stored,) = shop.get("/v1/root-causes")["items"]
    shop.now = NOW

    assert of_fleet(shop, 2026)[0][6] == stored["first_seen"][:10]


def test_what_was_decided_later_holds_and_an_import_changes_nothing(shop: Any) -> None:
    registered(shop, NOW)
    burn_switches(shop)
    listed = shop.get("/v1/root-causes")["items"]
    for each in listed:
        shop.patch(f"/v1/root-causes/{each['id']}", {"state": "dismissed", "note": "a bad batch"}, each["version"])
    before = of_fleet(shop, 2026), for_customer(shop, 2026)
    assert [found[3] for found in before[0]] == ["dismissed" if listed else "open"]
    lines = export(shop)
    shop.empty()
    shop.now = NOW
    take_in(shop, lines)

    assert (of_fleet(shop, 2026), for_customer(shop, 2026)) == before
