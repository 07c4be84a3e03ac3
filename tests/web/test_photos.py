"""Photos on the pages: without scripts, and in a real browser with and without a connection."""

from io import BytesIO

from PIL import Image
from playwright.sync_api import BrowserContext, Page

from service.domain.record.photos import LARGEST
from tests.api.resources.conftest import NOW, Shop
from tests.pictures_sent import HEIC, corners, sent, with_exif
from tests.web.chromium import Served, findings_of_axe
from tests.web.conftest import ACCEPTED, SAME_SITE, Browser, technician_of
from tests.web.test_browser import (  # noqa: F401 - two are fixtures
    PHONE,
    _kept_offline,
    _sent,
    _store,
    _until,
    open_form,
    served,
    signed_in,
    token_of,
    visits,
    window,
)

VISIT = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"
PHOTO = "0199d1f0-6c1e-7a51-9f0a-0000000000f1"
PICTURE = {"name": "IMG_1.JPG", "mimeType": "image/jpeg", "buffer": with_exif(corners(2000, 1500), 1)}
NO_PHOTO_LEFT = """() => new Promise((found) => {
  const opening = indexedDB.open("glycol-fleet");
  opening.onsuccess = () => {
    const all = opening.result.transaction("photos").objectStore("photos").getAll();
    all.onsuccess = () => { opening.result.close(); found(all.result.length === 0); };
  };
})"""


def visited(site: Shop) -> Browser:
    site.unit()
    site.post("/v1/visits", site.example("visit"))
    return technician_of(site)


def posted(browser: Browser, *raw: bytes, path: str = f"/visits/{VISIT}/photos", **fields: str):
    files = [(BytesIO(each), f"IMG_{n}.JPG", "image/jpeg") for n, each in enumerate(raw)]
    return browser.client.post(path, data={"photo": files, **fields}, headers=ACCEPTED | SAME_SITE)


def photos_of(site: Shop, visit: str = VISIT) -> list[dict[str, object]]:
    found: list[dict[str, object]] = site.get(f"/v1/visits/{visit}/photos")["items"]
    return found


def test_without_scripts_a_photo_is_added_seen_and_removed(site):
    browser = visited(site)
    form = {"id": PHOTO, "caption": "the <b>burnt</b> contact", "when": "as_found"}
    for _ in range(2):  # sent twice, it is one photo
        assert posted(browser, sent(), sent(quality=40), **form).headers["Location"] == f"/visits/{VISIT}#photos"
    page = browser.open(f"/visits/{VISIT}").text

    assert [each["id"] == PHOTO for each in photos_of(site)] == [True, False]
    assert 'alt="the &lt;b&gt;burnt&lt;/b&gt; contact, as found, 2026-06-09"' in page
    assert 'enctype="multipart/form-data"' in page
    assert 'capture="environment"' in page
    assert f"/photos/{PHOTO}?width=320" in browser.open("/units/GU-0007").text
    shown = browser.client.get(f"/photos/{PHOTO}?width=64")
    assert Image.open(BytesIO(shown.data)).size == (64, 48)
    assert "immutable" in shown.headers["Cache-Control"]

    assert browser.send(f"/photos/{PHOTO}/void", {"reason": "shows a guest"}).status_code == 303
    assert f"/photos/{PHOTO}?" not in browser.open(f"/visits/{VISIT}").text
    assert f"/photos/{PHOTO}?" not in browser.open("/units/GU-0007").text
    assert browser.open(f"/photos/{PHOTO}").status_code == 403


def test_what_is_no_photo_is_refused_on_a_page_with_the_reason(site):
    browser = visited(site)
    assert "Most Compatible" in posted(browser, HEIC).text
    assert posted(browser, b"no picture").status_code == 415
    assert posted(browser).status_code == 422
    for path, back in ((f"/visits/{VISIT}", f"/visits/{VISIT}"), ("//other.example/x", "/other.example/x")):
        came_from = {"Referer": f"http://localhost{path}"}
        refused = browser.client.post(f"/visits/{VISIT}/photos", headers=ACCEPTED | SAME_SITE | came_from)
        assert f'<a href="{back}">Back to the form</a>' in refused.text
    kind = "multipart/form-data; boundary=x"
    large = browser.client.post(
        f"/visits/{VISIT}/photos", data=b"x" * (LARGEST + 70_000), content_type=kind, headers=ACCEPTED | SAME_SITE
    )
    assert large.status_code == 413
    assert posted(browser, sent(), path=f"/visits/{PHOTO}/photos").status_code == 404
    assert posted(browser, sent(), writer="somebody else").status_code == 401
    assert posted(Browser(site, site.tokens["reader"]), sent()).status_code == 403
    assert photos_of(site) == []


def take(page: Page, *pictures: dict[str, object]) -> None:
    for n, picture in enumerate(pictures, 1):
        page.set_input_files("#photo-camera", picture)
        page.locator("#taken img").nth(n - 1).wait_for()


def again(page: Page) -> None:
    page.evaluate("() => dispatchEvent(new Event('online'))")


def test_photos_taken_without_a_connection_follow_their_visit_and_are_stored_once(window, served):  # noqa: F811
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token)
        _kept_offline(page)
        context.set_offline(True)
        page.goto(served.address + "/")
        visit = open_form(page)
        take(page, PICTURE, PICTURE)
        page.get_by_label("What photo 1 shows").fill("the burnt contact")
        page.get_by_label("When photo 1 was taken").select_option("as_found")
        page.get_by_label("What photo 2 shows").fill("left")
        page.get_by_role("button", name="Remove photo 2").tap()
        page.locator("#taken img").nth(1).wait_for(state="detached")
        take(page, PICTURE)
        page.locator("#taken img").nth(1).wait_for()
        _store(page)
        page.get_by_text("there is no connection").wait_for()
        page.close()
        page = context.new_page()
        page.clock.set_fixed_time(NOW)
        page.goto(served.address + "/")
        page.get_by_text("2 photos wait to be sent.").wait_for()
        context.set_offline(False)
        _sent(page)
        _until(page, NO_PHOTO_LEFT)
        return visit

    visit = window.visit(work, **PHONE)
    stored = photos_of(served.shop, visit)

    assert visits(served) == [visit]
    assert len(stored) == 2  # in no certain order: the clock stands still here
    assert {(each["caption"], each["when"], each["width"]) for each in stored} == {
        ("the burnt contact", "as_found", 1600),
        (None, None, 1600),
    }


def test_a_photo_whose_answer_was_lost_or_that_found_the_server_busy_is_stored_once(window, served):  # noqa: F811
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token)
        tries: list[object] = []

        def disturb(route):
            tries.append(1)
            if len(tries) == 1:
                route.fulfill(status=503, content_type="application/problem+json", body="{}")
            elif len(tries) == 2:
                route.fulfill(status=200, content_type="text/html", body="<h1>Welcome to our network</h1>")
            elif len(tries) == 3:
                assert route.fetch().status == 201
                route.abort()
            else:
                route.continue_()

        context.route("**/visits/*/photos", disturb)
        visit = open_form(page)
        take(page, PICTURE)
        _store(page)
        page.wait_for_url(f"{served.address}/visits/{visit}")
        for _ in range(4):
            again(page)
            page.wait_for_timeout(300)
        _until(page, NO_PHOTO_LEFT)
        assert len(tries) == 4
        return visit

    visit = window.visit(work, **PHONE, service_workers="block")

    assert len(photos_of(served.shop, visit)) == 1


def test_a_refused_photo_says_why_and_holds_up_no_other(window, served):  # noqa: F811
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token)
        visit = open_form(page)
        take(page, {"name": "IMG.HEIC", "mimeType": "image/heic", "buffer": HEIC}, PICTURE)
        _store(page)
        page.wait_for_url(f"{served.address}/visits/{visit}")
        page.get_by_text("Most Compatible").wait_for()
        page.get_by_role("button", name="Discard the photo").tap()
        _until(page, NO_PHOTO_LEFT)
        return visit

    visit = window.visit(work, **PHONE, service_workers="block")

    assert len(photos_of(served.shop, visit)) == 1


def test_a_full_device_says_that_a_photo_is_not_kept(window, served):  # noqa: F811
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> int:
        limit = {"origin": served.address, "quotaSize": 12_000}
        context.new_cdp_session(context.new_page()).send("Storage.overrideQuotaForOrigin", limit)
        page = signed_in(context, served, token)
        open_form(page)
        page.set_input_files("#photo-library", {**PICTURE, "buffer": sent(Image.effect_noise((1600, 1200), 90))})
        page.get_by_text("it is NOT kept").wait_for()
        return page.locator("#taken img").count()

    assert window.visit(work, **PHONE, service_workers="block") == 0


def test_a_photo_is_added_on_the_page_of_a_visit_which_is_accessible(window, served):  # noqa: F811
    token = token_of(served, "rhea")
    made = served.shop.visit("2026-06-08")["visit"]["id"]

    def work(context: BrowserContext) -> list[object]:
        page = signed_in(context, served, token)
        page.goto(f"{served.address}/visits/{made}")
        page.locator("summary", has_text="Add a photo").tap()
        page.set_input_files("#photo-library", PICTURE)
        page.get_by_label("What it shows").fill("the coil")
        page.get_by_label("Taken", exact=True).select_option("as_left")
        page.get_by_role("button", name="Add the photo").tap()
        page.get_by_alt_text("the coil, as left, 2026-06-08").wait_for()
        found: list[object] = [findings_of_axe(page)]
        page.goto(f"{served.address}/units/GU-0007")
        page.get_by_alt_text("the coil, as left, 2026-06-08").wait_for()
        found.append(findings_of_axe(page))
        page.goto(f"{served.address}/units/GU-0007/visits/new")
        page.wait_for_function("() => document.getElementById('visit').dataset.ready === '1'")
        take(page, PICTURE)
        found.append(findings_of_axe(page))
        found.append(page.evaluate("() => document.documentElement.scrollWidth <= innerWidth"))
        return found

    phone = {**PHONE, "viewport": {"width": 320, "height": 640}}
    assert window.visit(work, **phone, service_workers="block") == [([], []), ([], []), ([], []), True]


def test_another_persons_photos_are_not_sent(window, served: Served):  # noqa: F811
    token = token_of(served, "rhea")

    def work(context: BrowserContext) -> str:
        page = signed_in(context, served, token)
        visit = open_form(page)
        take(page, PICTURE)
        context.route("**/visits/*/photos", lambda route: route.abort())
        _store(page)
        page.wait_for_url(f"{served.address}/visits/{visit}")
        context.unroute("**/visits/*/photos")
        other = signed_in(context, served, token_of(served, "dispatcher"))
        again(other)
        other.wait_for_timeout(500)
        assert photos_of(served.shop, visit) == []
        other.get_by_role("button", name="Sign out").click()
        page = signed_in(context, served, token)
        again(page)
        _until(page, NO_PHOTO_LEFT)
        return visit

    visit = window.visit(work, **PHONE, service_workers="block")

    assert len(photos_of(served.shop, visit)) == 1
