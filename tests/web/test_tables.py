"""A workbook of one's own: guessed, tried with every remark by its cell, and stored as the trial showed it."""

import io
import re
from datetime import UTC, datetime, timedelta
from html import unescape

import pytest

from service.api import table_imports
from service.web.kept_files import MOST, KeptFiles
from tests.web.conftest import ACCEPTED, SAME_SITE, Browser
from tests.web.test_pages import EVIL
from tests.workbook import workbook

MAPPING = """version = 1
time_zone = "America/Denver"
[[table]]
sheets = ["Units"]
creates = ["customer", "site", "unit"]
[table.columns]
"Tag" = "unit.tag"
"Customer" = "customer.name"
"Where" = "unit.place"
"Since" = "unit.installed_on"
"""
GOOD = ["GU-0100", "The Pier", "roof", "2024-05-02"]


@pytest.fixture
def owner(site) -> Browser:
    """An owner's browser, at an empty database."""
    return Browser(site, site.tokens["owner"])


def send(browser, do, *rows, mapping=MAPPING, **more):
    book = workbook(Units=(["Tag", "Customer", "Where", "Since"], *rows))
    data = {"do": do, "mapping": mapping, "file": (io.BytesIO(book), "units.xlsx")} | more
    return browser.client.post("/data/tables", data=data, headers=ACCEPTED | SAME_SITE)


def tags(site) -> list[str]:
    return [unit["tag"] for unit in site.walk("/v1/units")]


def test_a_file_is_tried_and_then_stored_as_the_trial_showed_it(owner, site) -> None:
    tried = send(owner, "try", GOOD)
    plan = re.search(r'name="plan" value="([^"]+)"', tried.text)[1]

    assert (tried.status_code, tags(site)) == (200, [])
    assert "Tried, nothing is stored" in tried.text
    assert "New: 1 customer, 1 site, 1 unit<" in tried.text
    several = send(owner, "try", GOOD, ["GU-0101", "The Pier", "cellar", ""])
    assert "New: 1 customer, 1 site, 2 units<" in several.text
    other = send(owner, "store", GOOD, ["GU-0101", "The Pier", "cellar", ""], plan=plan)
    assert (other.status_code, tags(site)) == (422, [])
    stored = send(owner, "store", GOOD, plan=plan)
    assert (stored.status_code, tags(site)) == (200, ["GU-0100"])


def test_a_wrong_cell_is_named_and_nothing_is_stored(owner, site) -> None:
    wrong = ["GU-0101", "The Pier", "cellar", "long ago"]
    tried, stored = send(owner, "try", GOOD, wrong), send(owner, "store", GOOD, wrong)

    assert (tried.status_code, stored.status_code, tags(site)) == (200, 422, [])
    for answer in (tried, stored):
        assert "D3" in answer.text
        assert "long ago" in answer.text
    assert send(owner, "store", GOOD, wrong, keep_good="1").status_code == 200
    assert "GU-0100" in tags(site)


def test_the_mapping_is_guessed_and_stays_in_the_form(owner) -> None:
    guessed = send(owner, "guess", GOOD, mapping="")
    text = unescape(re.search(r"<textarea[^>]*>(.*?)</textarea>", guessed.text, re.DOTALL)[1])

    assert '"unit.tag"' in text
    assert "To answer in the mapping" in guessed.text or "?" not in text
    assert MAPPING.splitlines()[0] in unescape(send(owner, "try", GOOD).text)


def test_what_cannot_be_read_is_said(owner) -> None:
    assert "mapping" in send(owner, "try", GOOD, mapping="").text
    broken = send(owner, "try", GOOD, mapping="version = ")
    assert (broken.status_code, "version = </textarea>" in broken.text) == (422, True)


def test_the_template_and_a_marked_copy_are_workbooks(owner) -> None:
    template, copy = owner.open("/data/tables/template"), send(owner, "mark", ["GU-0101", "X", "", "long ago"])

    for answer in (template, copy):
        assert answer.data[:2] == b"PK"
        assert "attachment" in answer.headers["Content-Disposition"]


def test_it_is_the_owners_alone_and_nothing_in_the_file_is_run(owner, site) -> None:
    dispatcher = Browser(site, site.tokens["dispatcher"])

    assert dispatcher.open("/data/tables").status_code == 403
    assert send(dispatcher, "try", GOOD).status_code == 403
    page = send(owner, "try", ["GU-0100", EVIL, EVIL, EVIL]).text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page


def again(browser, do, page, **more):
    """The next step on a page, where no file is chosen: a browser then sends one without a name and content."""
    kept = re.search(r'name="kept" value="([^"]+)"', page.text)[1]
    data = {"do": do, "mapping": MAPPING, "kept": kept, "file": (io.BytesIO(b""), "")} | more
    data = {name: part for name, part in data.items() if part is not None}
    multipart = ACCEPTED | SAME_SITE
    return browser.client.post("/data/tables", data=data, headers=multipart, content_type="multipart/form-data")


def test_a_file_is_chosen_once(owner, site) -> None:
    guessed = send(owner, "guess", GOOD, mapping="")
    tried = again(owner, "try", guessed)
    plan = re.search(r'name="plan" value="([^"]+)"', tried.text)[1]
    stored = again(owner, "store", tried, plan=plan, file=None)

    assert "units.xlsx" in tried.text
    assert "--" not in unescape(re.search(r"<textarea[^>]*>(.*?)</textarea>", guessed.text, re.DOTALL)[1])
    assert (tried.status_code, stored.status_code, tags(site)) == (200, 200, ["GU-0100"])


def test_a_file_is_kept_for_half_an_hour_and_for_its_session_alone(owner, site) -> None:
    tried = send(owner, "try", GOOD)
    other = again(Browser(site, site.tokens["owner"]), "try", tried)
    site.now += timedelta(minutes=31)
    late = again(owner, "try", tried)

    for refused in (other, late):
        assert (refused.status_code, "Choose the file again" in refused.text) == (422, True)


def test_a_file_that_is_too_large_is_refused_as_by_the_api(owner, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(table_imports, "LARGEST", 3000)

    assert send(owner, "try", GOOD).status_code == 413


def test_of_many_files_the_first_ones_go() -> None:
    kept, now = KeptFiles(), datetime(2026, 6, 9, tzinfo=UTC)
    digests = [kept.keep(f"session {n}", "a.csv", b"%d" % n, now) for n in range(MOST + 2)]
    again = kept.keep("session 5", "b.csv", b"new", now)

    found = [kept.get(f"session {n}", digest, now) for n, digest in enumerate(digests)]
    assert [each is not None for each in found] == [False, False, True, True, True, False, True, True, True, True]
    assert found[2] == ("a.csv", b"2")
    assert kept.get("session 5", again, now) == ("b.csv", b"new")
