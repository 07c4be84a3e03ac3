"""The owner: all records in and out, backup, audit trail, letters as handed out, root causes on a time line."""

import io
import json
import re
from dataclasses import replace

from tests.api.resources.burnt_switches import DAYS, burn_switches
from tests.web.conftest import ACCEPTED, SAME_SITE, Browser, technician_of
from tests.web.test_pages import EVIL

PAGES = ("/data", "/data/export", "/audit", "/years/2026/lantern/issues")
CUSTOMER = {"record": "customer", "code": "pier", "name": "The Pier"}
WRONG = {"record": "site", "code": "pier-end", "customer": "nobody", "name": EVIL, "time_zone": "Denver"}


def send_file(browser, do, *records, **more):
    raw = b"".join(json.dumps(record).encode() + b"\n" for record in records)
    data = {"do": do, "file": (io.BytesIO(raw), "fleet.jsonl")} | more
    return browser.client.post("/data/import", data=data, headers=ACCEPTED | SAME_SITE)


def codes(site) -> list[str]:
    return [customer["code"] for customer in site.walk("/v1/customers")]


def test_a_file_is_checked_without_storing_and_then_stored(owner, site) -> None:
    entries = len(site.walk("/v1/audit"))
    checked = send_file(owner, "check", CUSTOMER)

    assert (checked.status_code, codes(site)) == (200, ["lantern"])
    assert len(site.walk("/v1/audit")) == entries
    assert "Checked, nothing is stored" in checked.text
    assert "New: 1 customer" in re.sub(r"\s+", " ", checked.text)
    stored = send_file(owner, "store", CUSTOMER)
    assert (stored.status_code, codes(site)) == (200, ["lantern", "pier"])
    assert "Already there: 1 customer" in re.sub(r"\s+", " ", send_file(owner, "check", CUSTOMER).text)


def test_faults_are_named_by_line_and_nothing_is_stored(owner, site) -> None:
    for do, status in (("check", 200), ("store", 422)):
        answer = send_file(owner, do, CUSTOMER, WRONG)
        assert (answer.status_code, codes(site)) == (status, ["lantern"])
        assert "Line 2" in answer.text
        assert "time_zone" in answer.text
    kept = send_file(owner, "store", CUSTOMER, WRONG, keep_good="1")
    assert (kept.status_code, codes(site)) == (200, ["lantern", "pier"])
    assert "Line 2" in kept.text


def test_without_a_file_nothing_happens(owner) -> None:
    assert "Choose a file first." in owner.send("/data/import", {"do": "store"}).text


def test_a_file_may_be_larger_than_a_form(owner, site) -> None:
    """Up to the limit of an import, above that of a body (200 kB here)."""
    many = [CUSTOMER | {"code": f"c-{n}", "contact": "a" * 190} for n in range(1000)]
    answer = send_file(owner, "check", *many)

    assert answer.status_code == 200
    assert "1000 lines" in answer.text
    assert owner.send("/audit", {"noted": "a" * 300_000}).status_code == 413


def test_the_export_is_that_of_the_api(owner, site) -> None:
    answer = owner.open("/data/export")

    assert answer.data == site.ask("GET", "/v1/exports").data
    assert "attachment" in answer.headers["Content-Disposition"]


def test_a_backup_is_written_where_a_folder_is_set(owner, site, tmp_path) -> None:
    held = site.app.extensions["glycol-fleet"]
    assert "No folder for backups is set." in owner.send("/data/backup", {}).text
    site.app.extensions["glycol-fleet"] = replace(held, settings=replace(held.settings, backup_folder=tmp_path))
    try:
        answer = owner.send("/data/backup", {})
        missing = replace(held.settings, backup_folder=tmp_path / "none")
        site.app.extensions["glycol-fleet"] = replace(held, settings=missing)
        refused = owner.send("/data/backup", {})
    finally:
        site.app.extensions["glycol-fleet"] = held
    written = [path.name for path in tmp_path.iterdir()]
    assert written == ["glycol-fleet-2026-06-09T210000Z.sqlite3"]
    assert written[0] in answer.text
    assert (refused.status_code, "there is no folder" in refused.text) == (422, True)


def test_the_trail_shows_who_changed_what(owner, site) -> None:
    site.patch("/v1/units/GU-0007", {"place": "roof"}, 1)
    page = owner.page("/audit?resource=unit&key=GU-0007&until=2026-06-09")

    assert "unit GU-0007 changed, 2026-06-09 21:00 UTC, the owner, owner" in page
    assert re.search(r"place \S[^.]* became roof", page)
    assert "customer lantern" not in page
    assert "Nothing fits." in owner.page("/audit?since=2026-06-10")
    assert owner.open("/audit?since=yesterday").status_code == 422


def test_older_entries_follow(owner, site) -> None:
    for n in range(60):
        site.post("/v1/customers", {"code": f"c-{n}", "name": "x"})
    page = owner.open("/audit?resource=customer")
    older = re.search(r'href="(/audit\?before=[^"]+)"', page.text)[1].replace("&amp;", "&")

    assert "resource=customer" in older
    assert "customer lantern" not in owner.page("/audit?resource=customer")
    assert "customer lantern" in owner.page(older)


def test_the_trail_is_verified(owner, site) -> None:
    head = site.get("/v1/audit?limit=1")["items"][0]["hash"]
    good = owner.send("/audit", {"noted": head})

    assert "All entries fit" in good.text
    assert "The hash that you noted is that of entry" in good.text
    assert "does not hold the hash" in owner.send("/audit", {"noted": "0" * 63 + "1"}).text


def test_a_letter_is_kept_as_it_was_handed_out(owner, site) -> None:
    path = "/years/2026/lantern/issues"

    assert "None yet." in owner.page(path)
    assert owner.send(path, {}).headers["Location"] == path
    kept = site.get("/v1/customers/lantern/service-summaries/2026/issues")["items"]
    assert len(kept) == 1
    letter = owner.open(f"{path}/{kept[0]['id']}")
    assert letter.data == site.ask("GET", f"/v1/customers/lantern/service-summaries/2026/issues/{kept[0]['id']}").data
    assert "As it would read now." in owner.page(path)
    site.visit("2026-06-02", outcome="running")
    assert "The records have changed since" in owner.page(path)
    assert f'href="{path}"' in owner.open("/years").text


def test_a_root_cause_is_shown_on_a_time_line(owner, site) -> None:
    burn_switches(site)
    number = site.walk("/v1/root-causes")[0]["id"]
    version = site.get(f"/v1/root-causes/{number}")["version"]
    owner.send(f"/root-causes/{number}", {"state": "confirmed", "note": "seen it", "version": str(version)})
    page = owner.page("/root-causes")
    days = re.findall(r"<li><time>(2026-\d\d-\d\d)</time>", owner.open("/root-causes").text)

    assert [day for day in days if day in DAYS] == list(DAYS)
    assert days == sorted(days)
    assert page.count("35 days later") == 4
    assert page.count("What failed Power switch: ") == page.count("Next check ") == 1
    assert "2026-06-09 confirmed by the owner seen it" in page


def test_the_pages_are_the_owners_alone(owner, site) -> None:
    for browser in (Browser(site, site.tokens["dispatcher"]), technician_of(site)):
        for path in PAGES:
            assert browser.open(path).status_code == 403, path
        for path in ("/data/import", "/data/backup", "/audit", "/years/2026/lantern/issues"):
            assert browser.send(path, {}).status_code == 403, path
        assert 'href="/data"' not in browser.open("/units").text


def test_nothing_of_the_record_is_run(owner, site) -> None:
    site.patch("/v1/customers/lantern", {"name": EVIL}, 1)
    send_file(owner, "store", CUSTOMER | {"name": EVIL})

    for path in ("/audit", "/years/2026/lantern/issues"):
        page = owner.open(path).text
        assert "<script>alert" not in page, path
        assert "&lt;script&gt;" in page, path
    assert "<script>alert" not in send_file(owner, "check", WRONG | {"code": EVIL}).text
