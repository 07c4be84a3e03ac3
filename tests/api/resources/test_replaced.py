"""A unit that was put in the place of another one: linked both ways, in both histories, kept in files."""

from typing import Any

import pytest

from tests.api.resources.following import export, take_in


@pytest.fixture
def pair(shop) -> Any:
    """GU-0009 in the place of GU-0007, which comes after it in no order."""
    shop.unit("GU-0009")
    shop.post("/v1/units", shop.example("unit", tag="GU-0003") | {"replaces": "GU-0009", "installed_on": "2026-06-01"})
    return shop


def links(shop, tag: str) -> tuple[str | None, str | None, str | None]:
    unit = shop.get(f"/v1/units/{tag}")
    return unit.get("replaces"), unit.get("replaced_by"), unit.get("replaced_on")


def replacements(shop, tag: str) -> list[tuple[str, dict[str, Any]]]:
    found = shop.walk(f"/v1/units/{tag}/history")
    return [(each["at"][:10], each["recorded"]) for each in found if each["event"] == "unit_replaced"]


def change(shop, tag: str, changes: dict[str, Any]) -> Any:
    version = shop.get(f"/v1/units/{tag}")["version"]
    return shop.ask("PATCH", f"/v1/units/{tag}", changes, If_Match=f'"{version}"')


def test_the_two_are_linked_both_ways_and_both_histories_say_so(pair) -> None:
    both = [("2026-06-01", {"unit": "GU-0009", "replaced_by": "GU-0003"})]

    assert links(pair, "GU-0003") == ("GU-0009", None, None)
    assert links(pair, "GU-0009") == (None, "GU-0003", "2026-06-01")
    assert replacements(pair, "GU-0003") == replacements(pair, "GU-0009") == both


def test_what_changes_of_one_is_shown_at_the_other(pair) -> None:
    replacements(pair, "GU-0009")  # kept in memory from now on
    assert change(pair, "GU-0003", {"tag": "GU-0103", "installed_on": "2026-06-02"}).status_code == 200
    assert links(pair, "GU-0009") == (None, "GU-0103", "2026-06-02")
    assert replacements(pair, "GU-0009")[0][0] == "2026-06-02"
    assert change(pair, "GU-0009", {"tag": "GU-0109"}).status_code == 200
    assert replacements(pair, "GU-0103") == [("2026-06-02", {"unit": "GU-0109", "replaced_by": "GU-0103"})]
    stale = pair.ask("PATCH", "/v1/units/GU-0109", {"place": "cellar"}, If_Match='"1"')
    assert stale.status_code == 412
    assert change(pair, "GU-0103", {"replaces": None}).status_code == 200
    assert links(pair, "GU-0109") == links(pair, "GU-0103") == (None, None, None)
    assert replacements(pair, "GU-0109") == []


@pytest.mark.parametrize(
    ("tag", "replaces", "message"),
    [
        ("GU-0009", "GU-0042", "there is no unit"),
        ("GU-0009", "GU-0009", "is this unit itself"),
        ("GU-0009", "GU-0003", "is this unit itself, or replaced it"),
        ("GU-0011", "GU-0009", "is replaced by the unit 'GU-0003'"),
    ],
)
def test_what_cannot_be_is_refused(pair, tag: str, replaces: str, message: str) -> None:
    pair.unit("GU-0011")
    answer = change(pair, tag, {"replaces": replaces})

    assert answer.status_code == 422
    assert answer.json["errors"][0]["field"] == "replaces"
    assert message in answer.json["errors"][0]["message"]


def test_the_link_is_exported_and_imported(pair) -> None:
    now, exported = pair.now, export(pair)
    assert take_in(pair, exported)["changed"] == {}
    pair.empty()
    pair.now = now
    take_in(pair, exported)

    assert links(pair, "GU-0009") == (None, "GU-0003", "2026-06-01")
    assert export(pair) == exported
