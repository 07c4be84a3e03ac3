"""One visit on one page, to leave with the customer."""

import io
import re
from datetime import UTC, datetime

import pytest
from pypdf import PdfReader

from tests.pictures_sent import corners, sent

VISIT = {
    "kind": "service_call", "left_at": "2026-06-09T20:00:00Z", "outcome": "recovering",
    "complaint": {"symptom": "warm_pour", "words": "all <b>warm</b>"},
    "readings": [
        {"quantity": "bath_temperature", "value": "47 degF", "when": "as_found"},
        {"quantity": "bath_temperature", "value": "31 degF", "when": "as_left"},
    ],
    "tasks": [
        {"task": "condenser_clean", "result": "done", "as_found": "heavy"},
        {"task": "pump_check", "result": "not_done", "reason": "no key"},
    ],
    "observations": [{"code": "bath_cap_missing"}],
    "work": "Cleaned the condenser.", "advice": "Keep the air side free.", "internal_note": "they do not pay",
}  # fmt: skip
PARTS = {"fan-1": "condenser_fan", "pump-1": "pump", "pump-2": "pump"}


@pytest.fixture
def report(shop):
    """The visit's path, on the example's unit."""
    shop.unit()
    shop.patch("/v1/company", {"name": "Towpath Cooling", "phone": "555-0100"}, 0)
    made = shop.visit("2026-06-09", **VISIT)["visit"]
    return f"/v1/visits/{made['id']}/report"


def page(shop, path, **more):
    answer = shop.ask("GET", path, **more)
    assert answer.status_code == 200, answer.text
    return answer


def pdf_text(answer):
    return " ".join(" ".join(each.extract_text() for each in PdfReader(io.BytesIO(answer.data)).pages).split())


def test_a_visit_by_others_is_not_said_to_be_ours(shop) -> None:
    shop.unit()
    shop.patch("/v1/company", {"name": "Towpath Cooling"}, 0)
    theirs = {"by": "others", "evidence": "reported", "technician": None, "work": "Changed the pump."}
    for firm, named in (("Brightwater Plumbing", "by Brightwater Plumbing"), (None, "by others")):
        made = shop.visit("2026-06-09", **theirs, firm=firm)["visit"]
        text = pdf_text(page(shop, f"/v1/visits/{made['id']}/report"))
        assert (f"{named}, as reported to us" in text, "Our visit" in text, "Visit on 2026-06-09" in text) == (
            True, False, True,
        )  # fmt: skip


def test_both_forms_say_what_was_found_done_left_and_comes_next(shop, report) -> None:
    text = pdf_text(page(shop, report))
    html = page(shop, f"{report}?format=html&units=si").get_data(as_text=True)

    for line in (
        "Towpath Cooling", "Our visit on 2026-06-09", "The condenser was heavily fouled.", "Cleaned the condenser.",
        "Maintenance: condenser cleaning.", "Not done: pump check (no key).", "Seen: bath cap missing.",
        "The unit is cooling down again and is not at its temperature yet.", "Keep the air side free.",
        "a follow-up visit", "Call us if the beer pours warm: 555-0100.",
    ):  # fmt: skip
        assert (line in text, line in html) == (True, True), line
    assert ("bath temperature -0.6 °C" in html, "Measured: bath temperature 31 °F." in text) == (True, True)
    assert "all &lt;b&gt;warm&lt;/b&gt;" in html


def test_a_unit_that_was_left_down_is_not_waited_for_to_pour_warm(shop) -> None:
    shop.unit()
    shop.patch("/v1/company", {"name": "Towpath Cooling", "phone": "555-0100"}, 0)
    made = shop.visit("2026-06-09", **VISIT | {"outcome": "down"})["visit"]
    html = page(shop, f"/v1/visits/{made['id']}/report?format=html").get_data(as_text=True)

    assert ("Call us: 555-0100." in html, "pours warm" in html) == (True, False)


def test_a_part_is_named_as_the_customer_knows_it(shop) -> None:
    shop.unit(components=[{"code": code, "kind": kind} for code, kind in PARTS.items()])
    parts = [{"component": code, "reason": "failed", "condition": "seized", "evidence": "seen"} for code in PARTS]
    made = shop.visit("2026-06-09", replacements=parts)["visit"]
    text = pdf_text(page(shop, f"/v1/visits/{made['id']}/report"))

    for named in ("condenser fan (failed)", "pump pump-1 (failed)", "pump pump-2 (failed)"):
        assert f"Replaced {named}." in text


def test_the_internal_note_is_in_neither(shop, report) -> None:
    assert "do not pay" not in pdf_text(page(shop, report)) + page(shop, report, Accept="text/html").text


def test_it_is_one_page_with_a_name_and_on_the_paper_asked_for(shop, report) -> None:
    answer = page(shop, f"{report}?paper=a4")
    (only,) = PdfReader(io.BytesIO(answer.data)).pages

    assert (round(only.mediabox.width), round(only.mediabox.height)) == (595, 842)
    assert answer.headers["Content-Disposition"].startswith('attachment; filename="visit-2026-06-09-')
    assert page(shop, f"{report}?paper=a4").data == answer.data


def test_a_technician_may_get_it_and_a_voided_visit_has_none(shop, report) -> None:
    page(shop, report, role="technician")
    shop.ask("POST", report.replace("/report", "/void"), {"reason": "x"}, If_Match='"1"')

    assert shop.ask("GET", report).status_code == 404
    assert shop.ask("GET", report.replace(report.split("/")[3], "nothing")).status_code == 404


def test_a_day_that_has_passed_is_named_as_overdue_and_not_as_one_to_come(shop, report) -> None:
    shop.now = datetime(2026, 12, 1, 12, tzinfo=UTC)
    html = page(shop, f"{report}?format=html").get_data(as_text=True)

    assert "<li>Overdue since 2026-06-10: a follow-up visit.</li>" in html
    assert not [day for day in re.findall(r"<li>By (\S+):", html) if day < "2026-12-01"]


def test_what_was_typed_without_a_full_stop_ends_with_one(shop, report) -> None:
    assert (
        "You reported warm beer. In your words: all &lt;b&gt;warm&lt;/b&gt;.</li>"
        in page(shop, report, Accept="text/html").text
    )


def test_photos_are_in_it_if_wished_and_removed_ones_never(shop, report) -> None:
    visit = report.split("/")[3]
    for when, caption in (("as_left", "the clean coil"), ("as_found", "grease <b>here</b>"), ("as_found", "a guest")):
        made = shop.app.test_client().post(
            f"/v1/visits/{visit}/photos",
            query_string={"when": when, "caption": caption},
            data=sent(corners(900, 600 + len(caption))),
            content_type="image/jpeg",
            headers={"Authorization": f"Bearer {shop.tokens['technician']}"},
        )
        assert made.status_code == 201, made.text
    assert shop.ask("POST", f"/v1/photos/{made.json['id']}/void", {"reason": "a guest"}).status_code == 200

    with_photos = page(shop, f"{report}?photos=true")
    html = page(shop, f"{report}?photos=true&format=html").text
    words = pdf_text(with_photos)
    assert words.index("Grease <b>here</b>, as found") < words.index("The clean coil, as left")
    assert html.count('src="data:image/jpeg;base64,') == 2
    assert 'alt="Grease &lt;b&gt;here&lt;/b&gt;, as found"' in html
    pages = PdfReader(io.BytesIO(with_photos.data)).pages
    assert [len(each.images) for each in pages] == [2]
    assert "a guest" not in words + html
    assert page(shop, f"{report}?photos=true").data == with_photos.data
    plain = PdfReader(io.BytesIO(page(shop, report).data)).pages
    assert [len(each.images) for each in plain] == [0]
