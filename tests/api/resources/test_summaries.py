"""/v1/customers/{code}/service-summaries/{year}: who may read it, in which forms."""

import pytest

from service.api import summaries

PATH = "/v1/customers/lantern/service-summaries/2026"


def test_the_owner_reads_a_year_with_units_and_version(stocked):
    summary = stocked.get(PATH)

    assert (summary["customer"], summary["year"], summary["units_shown"]) == ("lantern", 2026, "us")
    assert [unit["tag"] for unit in summary["units"]] == ["GU-0007"]
    assert summary["data_state"]["visits"] == 0
    assert summary["program_version"]


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/v1/customers/nobody/service-summaries/2026", 404),
        ("/v1/customers/lantern/service-summaries/2027", 422),
        ("/v1/customers/lantern/service-summaries/0", 422),
        (f"{PATH}?table=pm", 422),
        (f"{PATH}?format=docx", 422),
        (f"{PATH}?as_of=yesterday", 422),
        (f"{PATH}?as_of=2026-07-10T00:00:00Z", 422),
    ],
)
def test_what_cannot_be_answered_is_refused(stocked, path, status):
    assert stocked.ask("GET", path).status_code == status


def test_quantities_are_shown_in_the_units_asked_for(shop):
    shop.unit()
    shop.visit(
        "2026-06-01", readings=[{"quantity": "bath_temperature", "value": "28 degF", "when": "as_found"}]
    )  # fmt: skip

    shown = [shop.get(f"{PATH}?units={system}")["units"][0]["bath"][0]["as_found"] for system in ("us", "si")]

    assert [(each["value"], each["unit"]) for each in shown] == [(28.0, "degF"), (-2.22222, "degC")]


def test_a_visit_is_stored_while_a_summary_is_being_rendered(shop, monkeypatch):
    """No connection is out while it renders, so that however long that takes nobody waits for it."""
    shop.unit()
    pool, seen = shop.database.engine.pool, []
    idle = pool.checkedout()

    def write(*_, **__):
        seen.append(pool.checkedout())
        shop.visit("2026-06-01")
        return b"{}"

    monkeypatch.setattr(summaries, "write_summary", write)

    assert shop.ask("GET", PATH).status_code == 200
    assert seen == [idle]
