"""Documents as they were handed out: kept byte for byte, listed, and marked where the data have changed since."""

import pytest

YEAR = "/v1/customers/lantern/service-summaries/2026"
PATH = f"{YEAR}/issues"


@pytest.fixture
def kept(shop):
    """A workbook that was handed out."""
    shop.unit()
    shop.visit("2026-06-09", outcome="running")
    return shop.post(PATH, {"format": "csv"})


def test_what_was_handed_out_stays_byte_for_byte(shop, kept) -> None:
    first = shop.ask("GET", f"{YEAR}?format=csv").data
    shop.now = shop.now.replace(day=20)
    shop.visit("2026-06-12", outcome="running", advice="Call us.")
    again = shop.ask("GET", f"{PATH}/{kept['id']}")

    assert again.data == first != shop.ask("GET", f"{YEAR}?format=csv").data
    assert (len(again.data), again.mimetype) == (kept["size"], "application/zip")
    assert again.headers["Content-Disposition"].startswith('attachment; filename="lantern-2026-')


def test_the_summary_and_the_list_say_whether_the_data_have_changed_since(shop, kept) -> None:
    assert [each["differs"] for each in shop.get(PATH)["items"]] == [False]
    assert [each["differs"] for each in shop.get(YEAR)["handed_out"]] == [False]
    shop.now = shop.now.replace(day=20)
    shop.visit("2026-06-12", outcome="running")

    assert [(each["id"], each["differs"]) for each in shop.get(PATH)["items"]] == [(kept["id"], True)]
    assert [each["issued_at"][:10] for each in shop.get(YEAR)["handed_out"]] == [kept["issued_at"][:10]]


def test_only_an_owner_hands_out_and_what_is_unknown_is_not_found(shop, kept) -> None:
    assert shop.ask("POST", PATH, {}, role="dispatcher").status_code == 403
    assert shop.ask("POST", PATH, {"format": "csv", "paper": "a4"}).status_code == 422
    assert shop.ask("GET", f"{PATH}/00000000-0000-4000-8000-000000000000").status_code == 404
    assert shop.ask("GET", f"{PATH.replace('2026', '2025')}/{kept['id']}").status_code == 404
