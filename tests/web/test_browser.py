"""In a real browser: a technician's day by touch, a call by keyboard, work without a connection, and WCAG 2.2 A and AA.

WCAG 2.2 is checked by axe-core (what a program can check of it), reflow at 320 CSS pixels (1.4.10) beside it.
"""

import json
from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import BrowserContext, Page

from service.domain.physics.libraries import load_all
from tests.api.resources.burnt_switches import burn_switches
from tests.api.resources.conftest import NOW, Shop
from tests.web.chromium import NO_BROWSER, Served, Window, findings_of_axe, program
from tests.web.test_records import OFFICE_PAGES, OWNER_PAGES

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
DESK = {"viewport": {"width": 1280, "height": 900}}
READY = "() => document.getElementById('visit').dataset.ready === '1'"
NO_WORKER = "() => Promise.race([navigator.serviceWorker.ready, new Promise((_, fail) => setTimeout(fail, 9000))])"


@pytest.fixture(scope="module")
def window() -> Iterator[Window]:
    path = program()
    if path is None:
        pytest.skip(NO_BROWSER)
    opened = Window(path)
    yield opened
    opened.close()


@pytest.fixture
def served(site: Shop) -> Iterator[Served]:
    """The application with the example's unit on rhea's list."""
    site.unit()
    site.patch("/v1/sites/lantern-quay", {"technician": "rhea", "closed_weekdays": []}, 1)
    made = Served(site)
    yield made
    made.stop()


def token_of(served: Served, role: str) -> str:
    if role != "rhea":
        return served.shop.tokens[role]
    own = {"name": "rhea", "role": "technician", "technician": "rhea", "units_shown": "us"}
    return str(served.shop.post("/v1/tokens", own)["token"])


def signed_in(context: BrowserContext, served: Served, token: str) -> Page:
    page = context.new_page()
    page.clock.set_fixed_time(NOW)
    page.goto(f"{served.address}/sign-in")
    page.fill("#token", token)
    page.click("button.main")
    page.wait_for_url(lambda url: urlsplit(url).path in ("/", "/plan"))
    return page


def open_form(page: Page) -> str:
    """Open the form of a visit from My day; the visit's id."""
    page.get_by_role("link", name="Write the visit").first.click()
    page.wait_for_function(READY)
    return page.url.rpartition("/")[2]


def visits(served: Served) -> list[str]:
    return [visit["id"] for visit in served.shop.walk("/v1/visits")]


# Keystroke-level model of Card, Moran and Newell, Communications of the ACM 23(7), 1980 (values from memory): 1.35 s
# for each thing decided, pointing 1.1 s, a key 0.28 s. Scrolling and the work itself are not counted.
DECIDE, POINT, KEY = 1.35, 1.1, 0.28
COUNT_TAPS = "addEventListener('pointerdown', () => { window.taps = (window.taps ?? 0) + 1; }, true)"


def effort(page: Page, typed: list[str], decisions: int) -> tuple[int, float]:
    """(taps, seconds) that a form took: the taps made on it, one for each field filled in here, and one to store it.

    A reading, a part, a task, the outcome and storing are one decision each.
    """
    taps = page.evaluate("() => window.taps ?? 0") + len(typed) + 1
    return taps, decisions * DECIDE + taps * POINT + sum(map(len, typed)) * KEY


def test_a_usual_visit_takes_few_taps_and_seconds(window, served) -> None:
    """Four readings, three tasks, the unit left running."""
    token = token_of(served, "rhea")
    readings = {"bath temperature as found": "29,5", "glycol supply temperature as found": "30",
                "ambient temperature as found": "88", "glycol strength as found": "24,5"}  # fmt: skip

    def work(context: BrowserContext) -> tuple[str, int, float]:
        context.add_init_script(COUNT_TAPS)
        page = signed_in(context, served, token)
        visit = open_form(page)
        for label, text in readings.items():
            page.get_by_label(label).fill(text)
        for task in ("Strainer cleaning", "Bath level check", "Pump check"):
            page.get_by_role("group", name=task).get_by_label("done", exact=True).tap()
        page.get_by_label("running").tap()
        made = effort(page, list(readings.values()), 4 + 3 + 2)
        page.get_by_role("button", name="Store the visit").tap()
        page.wait_for_url(f"{served.address}/visits/{visit}")
        return visit, *made

    visit, taps, seconds = window.visit(work, **PHONE)
    stored = served.shop.get(f"/v1/visits/{visit}")

    assert (len(stored["readings"]), len(stored["tasks"]), stored["outcome"]) == (4, 3, "running")
    assert taps <= 25
    assert seconds <= 45, (taps, seconds)


def test_an_awkward_visit_takes_few_taps_and_seconds_and_is_assessed_while_typing(window, served) -> None:
    token = token_of(served, "rhea")
    load_all()  # as a server does before it listens

    def work(context: BrowserContext) -> tuple[str, str, int, float]:
        context.add_init_script(COUNT_TAPS)
        page = signed_in(context, served, token)
        visit = open_form(page)
        page.get_by_label("bath temperature as found, °F").fill("47,5")
        page.get_by_label("ambient temperature as found, °F").fill("104")
        page.wait_for_function("() => document.querySelector('#assessment .say')")
        for code in ("switch-1", "contactor-1", "fan-1", "pump-1"):
            page.locator("summary", has_text=code).tap()
        page.get_by_role("group", name="switch-1").get_by_label("failed").tap()
        page.get_by_role("group", name="switch-1").get_by_label("burnt").tap()
        for code, label in (
            ("contactor-1", "precaution"),
            ("contactor-1", "worn"),
            ("fan-1", "precaution"),
            ("fan-1", "worn"),
        ):
            page.get_by_role("group", name=code).get_by_label(label).tap()
        pump = page.get_by_role("group", name="pump-1")
        pump.get_by_label("failed").tap()
        pump.get_by_label("seized").tap()
        pump.get_by_label("done by others").tap()
        pump.get_by_label("About when").fill("2026-05-02")
        page.get_by_role("group", name="Strainer cleaning").get_by_label("done", exact=True).tap()
        page.get_by_label("recovering").tap()
        made = effort(page, ["47,5", "104", "2026-05-02"], 2 + 4 + 1 + 2)
        page.get_by_role("button", name="Store the visit").tap()
        page.wait_for_url(f"{served.address}/visits/{visit}")
        return visit, page.inner_text("main"), *made

    visit, shown, taps, seconds = window.visit(work, **PHONE)
    stored = served.shop.get(f"/v1/visits/{visit}")

    assert "recovering" in shown
    assert {(part["component"], part["reason"], part["condition"], part["by"]) for part in stored["replacements"]} == {
        ("switch-1", "failed", "burnt", "us"),
        ("contactor-1", "precaution", "worn", "us"),
        ("fan-1", "precaution", "worn", "us"),
        ("pump-1", "failed", "seized", "others"),
    }
    assert {reading["value"]["entered"] for reading in stored["readings"]} == {"47.5 degF", "104 degF"}
    assert taps <= 25
    assert seconds <= 45, (taps, seconds)


def test_a_call_is_taken_by_keyboard_alone(window, served) -> None:
    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token_of(served, "dispatcher"))
        page.goto(f"{served.address}/calls/new")
        page.wait_for_function("() => document.activeElement.id === 'q'")
        page.keyboard.type("lantern")
        page.keyboard.press("Enter")
        page.wait_for_url("**q=lantern**")
        _tab_to(page, "GU-0007")
        page.keyboard.press("Enter")
        page.wait_for_url("**unit=GU-0007")
        _tab_to(page, "warm pour")
        page.keyboard.press("Space")
        page.keyboard.press("Tab")
        page.keyboard.type("warm since noon")
        page.keyboard.press("Enter")
        page.wait_for_url(lambda url: urlsplit(url).path.count("-") == 4)
        return page.inner_text("main")

    shown = window.visit(work, **DESK)

    assert "Ask, or measure, first" in shown
    assert [call["words"] for call in served.shop.walk("/v1/calls")] == ["warm since noon"]


def _tab_to(page: Page, text: str) -> None:
    for _ in range(40):
        page.keyboard.press("Tab")
        if text in page.evaluate("() => (document.activeElement.closest('label') ?? document.activeElement).innerText"):
            return
    raise AssertionError(f"no way to {text!r} by keyboard")


def _until(page: Page, script: str) -> None:
    """Wait until a script that gives a promise finds so."""
    for _ in range(200):
        if page.evaluate(script):
            return
        page.wait_for_timeout(50)
    raise AssertionError(script)


def _kept_offline(page: Page) -> None:
    """Wait until the worker has kept the pages of today's stops."""
    page.evaluate(NO_WORKER)
    page.reload()
    kept = "async () => (await (await caches.open('pages')).keys()).some((each) => each.url.endsWith('/visits/form'))"
    _until(page, kept)


def _write(page: Page) -> str:
    visit = open_form(page)
    _store(page)
    return visit


def _store(page: Page) -> None:
    page.get_by_label("What was done").fill("written in a cellar")
    page.get_by_label("running").tap()
    page.get_by_role("button", name="Store the visit").tap()


ALL_SENT = """() => new Promise((found) => {
  const opening = indexedDB.open("glycol-fleet");
  opening.onsuccess = () => {
    const all = opening.result.transaction("outbox").objectStore("outbox").getAll();
    all.onsuccess = () => { opening.result.close(); found(all.result.length && all.result.every((each) => each.state === "sent")); };
  };
})"""  # noqa: E501


def _sent(page: Page) -> None:
    """Wait until nothing of this device is left to be sent."""
    _until(page, ALL_SENT)


def test_without_a_connection_visits_wait_and_are_stored_once_when_it_returns(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> list[str]:
        page = signed_in(context, served, token)
        _kept_offline(page)
        context.set_offline(True)
        written = []
        for _ in range(2):
            page.goto(served.address + "/")
            written.append(_write(page))
            page.get_by_text("there is no connection").wait_for()
        page.close()  # and the phone is put away
        page = context.new_page()
        page.clock.set_fixed_time(NOW)
        page.goto(served.address + "/")
        page.get_by_text("waiting to be sent").first.wait_for()
        context.set_offline(False)
        _sent(page)
        return written

    written = window.visit(work, **PHONE)

    assert sorted(visits(served)) == sorted(written)


def test_without_a_connection_my_day_is_my_own_whatever_list_was_seen_last(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> list[str]:
        page = signed_in(context, served, token)
        _kept_offline(page)
        page.goto(f"{served.address}/?technician=everybody")
        page.wait_for_load_state("networkidle")
        context.set_offline(True)
        shown = []
        for path in ("/", "/?technician=everybody"):
            page.goto(served.address + path)
            shown.append(page.inner_text("h1").partition(",")[0])
        return shown

    assert window.visit(work, **PHONE) == ["My day", "No connection"]


def test_a_visit_whose_answer_was_lost_is_stored_once(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token)
        lost = []

        def lose_the_answer(route):
            if route.request.method == "POST" and "do=store" in (route.request.post_data or "") and not lost:
                lost.append(route.fetch().status)
                route.abort()
            else:
                route.continue_()

        context.route("**/visits/*", lose_the_answer)
        visit = _write(page)
        page.get_by_text("there is no connection").wait_for()
        assert lost == [201]
        page.evaluate("() => dispatchEvent(new Event('online'))")
        _sent(page)
        return visit

    visit = window.visit(work, **PHONE, service_workers="block")

    assert visits(served) == [visit]


def test_what_is_no_answer_of_ours_ends_nothing(window, served) -> None:
    """A server that is busy, the sign-in page of a hotel's network, a JSON answer that does not name the visit."""
    token = token_of(served, "rhea")
    others = [
        {"status": 503, "content_type": "application/problem+json", "body": '{"title": "later"}'},
        {"status": 200, "content_type": "text/html", "body": "<h1>Welcome to our network</h1>"},
        {"status": 200, "content_type": "application/json", "body": '{"ok": true}'},
        {"status": 418, "content_type": "application/json", "body": "{}"},
    ]

    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token)
        tries = []

        def answer(route):
            if "do=store" not in (route.request.post_data or "") or len(tries) >= len(others):
                route.continue_()
                return
            tries.append(1)
            route.fulfill(**others[len(tries) - 1])

        context.route("**/visits/*", answer)
        visit = _write(page)
        for n in range(1, len(others) + 1):
            for _ in range(200):
                if len(tries) >= n:
                    break
                page.wait_for_timeout(50)
            assert len(tries) >= n
            page.get_by_text("waiting to be sent").first.wait_for()
            assert visits(served) == []
            page.evaluate("() => dispatchEvent(new Event('online'))")
        _sent(page)
        return visit

    visit = window.visit(work, **PHONE, service_workers="block")

    assert visits(served) == [visit]


def test_two_tabs_send_a_visit_once(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> tuple[str, int]:
        page = signed_in(context, served, token)
        other = context.new_page()
        other.clock.set_fixed_time(NOW)
        posts = []
        context.on("request", lambda sent: posts.append(1) if "do=store" in (sent.post_data or "") else None)
        other.goto(served.address + "/")
        visit = open_form(page)
        context.set_offline(True)
        _store(page)
        page.get_by_text("there is no connection").wait_for()
        posts.clear()
        context.set_offline(False)  # both tabs hear of it
        _sent(page)
        return visit, len(posts)

    visit, posts = window.visit(work, **PHONE, service_workers="block")

    assert visits(served) == [visit]
    assert posts == 1


def test_a_device_that_is_full_says_so_keeps_the_form_and_sends_it(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> tuple[str, str]:
        limit = {"origin": served.address, "quotaSize": 1000}
        context.new_cdp_session(context.new_page()).send("Storage.overrideQuotaForOrigin", limit)
        page = signed_in(context, served, token)
        visit = open_form(page)
        page.get_by_label("What was done").fill("a" * 15_000)
        page.get_by_text("This device cannot keep").wait_for()
        written = page.get_by_label("What was done").input_value()
        page.get_by_role("button", name="Store the visit").tap()  # which then goes as without a script
        page.wait_for_url(f"{served.address}/visits/{visit}")
        return visit, written

    visit, written = window.visit(work, **PHONE, service_workers="block")

    assert (visits(served), len(written)) == ([visit], 15_000)


def test_a_refused_visit_stays_with_its_faults_and_goes_when_corrected(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token)
        visit = open_form(page)
        field = page.get_by_label("bath temperature as found, °F")
        field.fill("900")
        page.get_by_role("button", name="Store the visit").tap()
        page.get_by_role("heading", name="Not stored yet").wait_for()
        assert visits(served) == []
        page.goto(served.address + "/")
        page.get_by_text("refused").wait_for()
        page.locator("#outbox a").first.tap()
        page.wait_for_function(READY)
        assert field.input_value() == "900"
        assert field.get_attribute("aria-invalid") == "true"
        beside = page.locator("td", has=field).locator(".fault").inner_text()
        assert beside in page.get_by_role("link", name="bath temperature as found, °F: ").inner_text()
        assert page.locator(".fault").count() == 1
        field.fill("47")
        page.get_by_role("button", name="Store the visit").tap()
        page.wait_for_url(f"{served.address}/visits/{visit}")
        return visit

    visit = window.visit(work, **PHONE)

    assert visits(served) == [visit]


def test_a_reading_below_zero_is_typed_on_a_keypad_without_a_minus(window, served) -> None:
    own = {"name": "si", "role": "technician", "technician": "rhea", "units_shown": "si"}
    token = str(served.shop.post("/v1/tokens", own)["token"])

    def work(context: BrowserContext) -> tuple[list[str], bool]:
        page = signed_in(context, served, token)
        open_form(page)
        fields = [page.get_by_label(f"bath temperature as {moment}, °C") for moment in ("found", "left")]
        for field in fields:
            field.fill("2,5")
        change = page.get_by_role("button", name="Change the sign of bath temperature")
        change.tap()
        change.tap()
        change.tap()
        fields[0].tap()
        change.tap()
        change.tap()
        return [field.input_value() for field in fields], fields[0].evaluate("each => each === document.activeElement")

    assert window.visit(work, **PHONE) == (["2,5", "-2,5"], True)


def test_a_second_tap_sends_no_second_visit_and_says_nothing_of_a_missing_connection(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> tuple[str, bool]:
        page = signed_in(context, served, token)
        visit = open_form(page)
        page.evaluate("""() => {
          const watch = () => { window.name += document.body.innerText.includes("there is no connection") ? "x" : ""; };
          new MutationObserver(watch).observe(document.getElementById("draft-state"), { childList: true });
        }""")
        page.get_by_role("button", name="Store the visit").dblclick()
        page.wait_for_url(f"{served.address}/visits/{visit}")
        return visit, "x" in page.evaluate("() => window.name")

    visit, claimed = window.visit(work, **PHONE, service_workers="block")

    assert (visits(served), claimed) == ([visit], False)


def test_what_was_corrected_after_a_refusal_outlives_its_tab(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> tuple[str, int]:
        page = signed_in(context, served, token)
        visit = open_form(page)
        field = page.get_by_label("bath temperature as found, °F")
        field.fill("900")
        page.get_by_role("button", name="Store the visit").tap()
        page.get_by_role("heading", name="Not stored yet").wait_for()
        field.fill("47")
        page.get_by_text("Kept on this device.").wait_for()
        page.goto(served.address + "/")
        page.locator("#outbox a").first.wait_for()
        lines = page.locator("#outbox a").count()
        page.goto(f"{served.address}/units/GU-0007/visits/{visit}")
        page.wait_for_function(READY)
        return page.get_by_label("bath temperature as found, °F").input_value(), lines

    assert window.visit(work, **PHONE, service_workers="block") == ("47", 1)


def test_a_revoked_token_loses_nothing_and_nobody_sends_in_anothers_name(window, served) -> None:
    token, again = token_of(served, "rhea"), token_of(served, "rhea")

    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token)
        visit = open_form(page)
        page.get_by_label("What was done").fill("still here")
        served.shop.ask("DELETE", f"/v1/tokens/{token.split('_')[1]}")
        page.get_by_role("button", name="Store the visit").tap()
        page.get_by_text("sign in again").wait_for()
        other = signed_in(context, served, token_of(served, "dispatcher"))
        other.get_by_text("1 visit of another person waits on this device").wait_for()
        assert visits(served) == []
        other.get_by_role("button", name="Sign out").click()
        _sent(signed_in(context, served, again))
        return visit

    assert visits(served) == []
    visit = window.visit(work, **PHONE)
    assert visits(served) == [visit]


def test_a_visit_waits_while_another_person_is_signed_in_on_the_device(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token)
        visit = open_form(page)
        signed_in(context, served, token_of(served, "dispatcher"))
        _store(page)
        page.get_by_text("sign in again").wait_for()
        assert visits(served) == []
        _sent(signed_in(context, served, token))
        return visit

    visit = window.visit(work, **PHONE, service_workers="block")

    assert visits(served) == [visit]


def test_a_draft_outlives_its_tab_and_a_server_that_is_gone(window, served) -> None:
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> None:
        page = signed_in(context, served, token)
        visit = open_form(page)
        page.get_by_label("What was done").fill("half a sentence")
        page.get_by_text("Kept on this device.").wait_for()
        page.close()
        page = context.new_page()
        page.clock.set_fixed_time(NOW)
        page.goto(f"{served.address}/")
        page.get_by_text("begun, not stored").wait_for()
        page.goto(f"{served.address}/units/GU-0007/visits/{visit}")
        page.wait_for_function(READY)
        assert page.get_by_label("What was done").input_value() == "half a sentence"
        served.stop()
        try:
            page.get_by_label("running").tap()
            page.get_by_role("button", name="Store the visit").tap()
            page.get_by_text("there is no connection").wait_for()
        finally:
            served.start()
        page.evaluate("() => dispatchEvent(new Event('online'))")
        _sent(page)
        assert visits(served) == [visit]

    window.visit(work, **PHONE)


PATHS = {
    "owner": (*OFFICE_PAGES, *OWNER_PAGES, "/office", "/weeks", "/vans", "/plan", "/calls",
              "/calls/new?unit=GU-0007", "/units?q=GU", "/root-causes",
              "/register/customer", "/register/site", "/register/unit?like=GU-0007", "/years", "/tokens", "/devices",
              "/units/GU-0007/triage?symptom=warm_pour", "/labels", "/data", "/data/tables", "/audit",
              "/years/2026/lantern/issues"),
    "rhea": ("/", "/vans/rhea", "/vans/rhea/change", "/units/GU-0007", "/units/GU-0007/visits/form", "/offline",
             "/sites/lantern-quay/no-access/0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b71"),
}  # fmt: skip


LOOKS = {
    "light": ({"color_scheme": "light"}, (320, 1280)),
    "dark": ({"color_scheme": "dark"}, (320, 1280)),
    "print": ({"media": "print"}, (720,)),  # a sheet of A4 less its margins, at 96 pixels an inch
}


LONG = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft & Sons"
# what is of use on a screen alone and shown all the same
PRINTED = """() => [...document.querySelectorAll("nav, button, input, select, textarea, .skip")]
    .filter((each) => each.checkVisibility()).map((each) => each.outerHTML.slice(0, 80))"""


def paths_of(served: Served) -> dict[str, list[str]]:
    """All pages, by who opens them, at a fleet with something of each kind and long names."""
    burn_switches(served.shop)
    for path in ("technicians/rhea", "customers/lantern", "sites/lantern-quay"):
        version = served.shop.get(f"/v1/{path}")["version"]
        served.shop.patch(f"/v1/{path}", {"name": LONG}, version)
    visit = served.shop.visit("2026-06-02", outcome="running", work="Brushed.")["visit"]["id"]
    call = {"received_at": "2026-06-09T16:00:00Z", "unit": "GU-0007", "symptom": "warm_pour"}
    call_id = served.shop.post("/v1/calls", call | {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b70"})["id"]
    arrival = {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b99", "site": "lantern-quay", "crew": ["rhea"]}
    arrival |= {"arrived_at": "2026-06-08T16:00:00Z", "access": "no_access"}
    attendance = served.shop.post("/v1/attendances", arrival)["attendance"]["id"]
    return {
        "owner": [*PATHS["owner"], f"/calls/{call_id}"],
        "rhea": [
            *PATHS["rhea"],
            f"/visits/{visit}",
            f"/visits/{visit}/correct",
            f"/attendances/{attendance}/correct",
        ],
    }


@pytest.mark.parametrize("look", LOOKS)
def test_axe_finds_nothing_and_no_page_is_wider_than_its_window(window, served, look) -> None:
    found: dict[str, object] = {}
    media, widths = LOOKS[look]

    def check(page: Page, path: str) -> None:
        page.goto(served.address + path)
        page.evaluate("() => document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        for wide in widths:
            page.set_viewport_size({"width": wide, "height": 800})
            violations, incomplete = findings_of_axe(page)
            width = page.evaluate("() => document.documentElement.scrollWidth")
            printed = page.evaluate(PRINTED) if look == "print" else []
            if violations or incomplete or printed or width > wide:
                found[f"{path} {wide}"] = (width, violations, incomplete, printed)

    def work(context: BrowserContext) -> None:
        for role, paths in paths_of(served).items():
            page = signed_in(context, served, token_of(served, role))
            page.emulate_media(**media)
            for path in paths:
                check(page, path)
            context.clear_cookies()

    window.visit(work, service_workers="block")

    assert found == {}, json.dumps(found, indent=1)


def test_a_page_needs_five_requests_at_most(window, served) -> None:
    """Page, style, script, font and icon, with nothing kept from before; the worker's own are not counted."""
    asked: dict[str, list[str]] = {}

    def work(context: BrowserContext) -> None:
        for role, paths in paths_of(served).items():
            page = signed_in(context, served, token_of(served, role))
            seen: list[str] = []
            page.on("request", lambda request, seen=seen: seen.append(urlsplit(request.url).path.rpartition("/")[2]))
            session = context.new_cdp_session(page)
            session.send("Network.enable")
            session.send("Network.setCacheDisabled", {"cacheDisabled": True})
            for path in paths:
                seen.clear()
                page.goto(served.address + path)
                page.evaluate("() => document.fonts.ready.then(() => null)")
                asked[path] = list(seen)
            context.clear_cookies()

    window.visit(work, service_workers="block")

    icon = {"icon.svg"}  # for which a browser asks when it likes, so that it may come with the next page
    assert {path: names for path, names in asked.items() if len(set(names) - icon) > 4} == {}
    assert {"pages.css", "app.js", "open-sans.woff2"} <= set(asked["/"])
    assert "visit.js" in asked["/units/GU-0007/visits/form"]
