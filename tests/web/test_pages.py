"""My day, units and their search: what they show, in which units, and that nothing of the record is run."""

import re

import pytest

from tests.web.conftest import Browser, technician_of

EVIL = "<script>alert(1)</script>"


def test_my_day_shows_ones_own_stops_with_why_and_what_to_bring(site) -> None:
    site.unit()
    site.patch("/v1/sites/lantern-quay", {"technician": "rhea", "closed_weekdays": []}, 1)
    page = technician_of(site).page("/?horizon_days=366")
    listed = site.get("/v1/pm-list?technician=rhea&horizon_days=366")

    assert page.count("Write the visit") == 1
    for item in listed["stops"][0]["items"]:
        assert item["why"] in page
        assert all(thing in page for thing in item["bring"])
    for caution in {text for item in listed["stops"][0]["items"] for text in item["cautions"]}:
        assert page.count(caution) == 1


def test_a_day_without_work_says_so(site) -> None:
    assert "Nothing is due here today." in Browser(site, site.tokens["technician"]).page("/")
    assert "Nothing is due." in Browser(site, site.tokens["owner"]).page("/plan")


def test_a_reader_sees_the_day_and_no_way_to_write(site) -> None:
    site.unit()
    page = Browser(site, site.tokens["reader"]).open("/?horizon_days=366").text

    assert "GU-0007" in page
    assert "/units/" not in page


def test_a_unit_is_found_by_part_of_what_somebody_says_on_the_phone(site) -> None:
    site.unit()
    unit = site.get("/v1/units/GU-0007")
    place, customer = site.get(f"/v1/sites/{unit['site']}"), site.get("/v1/customers/lantern")
    browser = Browser(site, site.tokens["dispatcher"])

    for part in (
        "gu-00",
        place["name"][:5].lower(),
        place["address"][:6],
        customer["phone"][-4:],
        customer["name"][:4],
    ):
        assert 'href="/units/GU-0007"' in browser.client.get("/units", query_string={"q": part}).text, part
    assert "No unit found" in browser.page("/units?q=nowhere")


def test_a_unit_page_shows_what_the_record_knows(site) -> None:
    site.unit()
    visit = site.visit(
        "2026-06-02",
        outcome="running",
        readings=[
            {"quantity": "bath_temperature", "value": "29.5 degF", "when": "as_found"},
            {"quantity": "glycol_strength", "value": "2.9 degF", "when": "as_found"},
        ],
        tasks=[{"task": "condenser_clean", "result": "done", "as_found": "light"}],
        work="Brushed the condenser.",
    )
    browser = technician_of(site)
    page = browser.page("/units/GU-0007")

    assert "29.5 °F" in page
    assert "freezes at 2.9 °F" in page
    assert "freezes at 2.9 °F" in browser.page(f"/visits/{visit['visit']['id']}")
    assert "Brushed the condenser." in page
    assert "Condenser cleaning: done, found lightly fouled" in page
    assert site.due()["condenser_clean"]["why"] in page
    assert f'href="/visits/{visit["visit"]["id"]}"' in browser.open("/units/GU-0007").text


def test_an_unknown_unit_is_a_page_that_says_so(site) -> None:
    answer = Browser(site, site.tokens["owner"]).open("/units/GU-0001")

    assert answer.status_code == 404
    assert "There is no unit" in answer.text


def test_nothing_of_the_record_is_run(site) -> None:
    site.unit(maker=EVIL, place=EVIL, model=EVIL)
    site.patch("/v1/sites/lantern-quay", {"access": EVIL, "name": EVIL, "technician": "rhea"}, 1)
    visit = site.visit("2026-06-02", work=EVIL, advice=EVIL, internal_note=EVIL, outcome="running", signed_by=EVIL)
    browser = technician_of(site)
    paths = ("/?horizon_days=366", "/units/GU-0007", "/units?q=GU", f"/visits/{visit['visit']['id']}",
             "/units/GU-0007/visits/form")  # fmt: skip

    for path in paths:
        page = browser.open(path)
        assert page.status_code == 200, path
        assert "<script>alert" not in page.text, path
        assert "&lt;script&gt;" in page.text, path


def test_a_page_is_sent_compressed_to_who_takes_it(site) -> None:
    browser = Browser(site, site.tokens["owner"])
    plain, packed = browser.open("/units"), browser.open("/units", Accept_Encoding="gzip")

    assert packed.headers["Content-Encoding"] == "gzip"
    assert len(packed.data) < len(plain.data) / 2


def test_the_chart_shows_the_numbers_of_its_table(site) -> None:
    site.unit()
    for day, value in (("2026-05-02", "30.5 degF"), ("2026-06-02", "29.5 degF")):
        site.visit(day, readings=[{"quantity": "bath_temperature", "value": value, "when": "as_found"}])
    browser = technician_of(site)
    page = browser.open("/units/GU-0007").text

    assert "30.5 °F on 2026-05-02, 29.5 °F on 2026-06-02" in page
    assert page.count("bath as found</td>") == 2
    assert "<title>Bath temperature, 2025-06-09 to 2026-06-09" in page
    assert re.search(r'<text [^>]*font-style="italic"[^>]*>set to 2[0-9.]+ °F</text>', page)
    assert "<title>Pour temperature" not in page  # none was read
    assert not re.search(r"\sstyle=", page)  # which the policy of the pages would block


def test_my_day_has_the_times_of_its_stops_and_what_is_left_over(site) -> None:
    site.unit()
    site.patch("/v1/sites/lantern-quay", {"technician": "rhea", "closed_weekdays": []}, 1)
    site.patch("/v1/technicians/rhea", {"hours_per_day": 1}, 1)
    page = technician_of(site).page("/?on=2026-06-16")

    assert re.search(r"\b[0-9]{2}:[0-9]{2} to [0-9]{2}:[0-9]{2}\b", page) or "Left over." in page
    assert "0 minutes of travel" not in page
    assert f"Where the day of {site.get('/v1/technicians/rhea')['name']} begins is not known" in page
    assert "How the day was laid out" in page


def test_what_is_left_over_has_no_place_in_the_order(site) -> None:
    for tag in ("GU-0007", "GU-0008"):
        site.unit(tag)
    site.patch("/v1/sites/lantern-quay", {"technician": "rhea", "closed_weekdays": []}, 1)
    site.patch("/v1/technicians/rhea", {"hours_per_day": 0.2}, 1)
    site.post("/v1/technicians", {"code": "otto", "name": "Otto"})
    browser = technician_of(site)
    text = browser.open("/").text

    assert "Left over." in text
    assert '<p class="no" aria-hidden="true"></p>' in text
    assert "How the day was laid out" not in browser.page("/?technician=otto")


@pytest.mark.parametrize(
    "accepted",
    [
        "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8",  # Firefox, from memory
        "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,image/webp,image/apng,*/*;q=0.8,"
        "application/signed-exchange;v=b3;q=0.7",  # as Chromium 156 sends it
    ],
)
def test_an_address_where_nothing_is_is_a_page_for_a_browser_and_a_problem_for_a_program(site, accepted) -> None:
    page = Browser(site).open("/unit/GU-0007", Accept=accepted)
    assert (page.status_code, page.content_type) == (404, "text/html; charset=utf-8")
    assert 'href="/"' in page.text
    assert page.headers["Content-Security-Policy"]

    problem = site.app.test_client().get("/unit/GU-0007", headers={"Accept": "*/*"})
    assert (problem.status_code, problem.content_type) == (404, "application/problem+json")
