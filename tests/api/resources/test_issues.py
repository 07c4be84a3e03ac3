"""Documents as they were handed out: kept byte for byte, listed, and marked where the data have changed since."""

import json
from base64 import b64encode
from hashlib import sha256

import orjson
import pytest

from service.schemas.transfer import LONGEST_LINE, read_line
from tests.api.resources.following import export, imported, record_of, take_in

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


def test_an_import_has_the_documents_that_were_handed_out_byte_for_byte(shop, kept) -> None:
    listed, shown, document = shop.get(PATH), shop.get(YEAR)["handed_out"], shop.ask("GET", f"{PATH}/{kept['id']}").data
    exported, now = export(shop), shop.now
    imported(shop, exported)
    shop.now = now

    assert (shop.get(PATH), shop.get(YEAR)["handed_out"]) == (listed, shown)
    assert shop.ask("GET", f"{PATH}/{kept['id']}").data == document
    assert take_in(shop, exported)["unchanged"]["issue"] == 1
    assert export(shop) == exported


@pytest.mark.parametrize(
    ("change", "status"),
    [({"content": "!"}, 422), ({"content": ""}, 422), ({"sha256": "0" * 64}, 422), ({"year": 2025}, 422),
     ({"customer": "anchor"}, 422), ({"issued_at": "2027-06-09T12:00:00Z"}, 422), ({}, 201)],
)  # fmt: skip
def test_a_line_with_another_document_is_refused(shop, kept, change, status) -> None:
    line = record_of(export(shop), record="issue") | change
    answer = shop.app.test_client().post(
        "/v1/imports", data=json.dumps(line), content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {shop.tokens['owner']}"},
    )  # fmt: skip

    assert answer.status_code == status, answer.text


def test_a_document_may_be_larger_than_another_line() -> None:
    document = b"x" * LONGEST_LINE
    line = {"record": "issue", "id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77", "customer": "lantern", "year": 2026,
            "issued_at": "2026-06-09T12:00:00Z", "issued_by": "Rhea", "as_of": "2026-06-09T12:00:00Z", "form": "json",
            "digest": "00", "program_version": "1", "sha256": sha256(document).hexdigest(),
            "content": b64encode(document).decode()}  # fmt: skip

    assert read_line(1, orjson.dumps(line)).faults == ()
    assert read_line(1, orjson.dumps(line | {"record": "visit"})).faults[0].field == "line"
