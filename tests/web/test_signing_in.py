"""Sessions: how they begin and end, what a request from another site can do (nothing), and what a role may open.

The rules on requests from other sites are those of the Fetch Metadata (W3C) and Origin (RFC 6454) headers.
"""

from datetime import timedelta

import pytest

from service.domain.audit import Actor
from service.domain.sessions import IDLE, LINK_LIFE, LONGEST
from service.usecases import sessions
from service.web.subjects import SUBJECTS
from tests.web.conftest import SAME_SITE, Browser, technician_of


def link_for(shop, role="technician"):
    token_id = shop.tokens[role].split("_")[1]
    with shop.database.writing() as store:
        return "/link/" + sessions.make_link(store, Actor("setup", "owner", None, shop.now), token_id)


def test_a_token_opens_a_session_and_its_secret_is_not_stored(shop) -> None:
    browser = Browser(shop, shop.tokens["technician"])
    secret = browser.client.get_cookie("session").value

    assert "the technician, technician" in browser.page("/devices")
    with shop.database.reading() as store:
        assert [found[0].token_id for found in store.sessions.live(None)] == [shop.tokens["technician"].split("_")[1]]
        assert store.sessions.by_hash(secret) is None


def test_the_cookie_is_out_of_the_reach_of_scripts_and_other_sites(shop) -> None:
    set_cookie = Browser(shop).send("/sign-in", {"token": shop.tokens["owner"]}).headers["Set-Cookie"]
    over_tls = shop.app.test_client().post(
        "/sign-in", data={"token": shop.tokens["owner"]}, headers=SAME_SITE, base_url="https://localhost"
    )

    assert {"HttpOnly", "Path=/", "SameSite=Strict"} <= {part.strip() for part in set_cookie.split(";")}
    assert over_tls.headers["Set-Cookie"].startswith("__Host-session=")
    assert "Secure" in over_tls.headers["Set-Cookie"]


def test_a_link_signs_in_once_and_opening_it_uses_nothing_up(shop) -> None:
    link, first, second = link_for(shop), Browser(shop), Browser(shop)

    assert [first.open(link).status_code for _ in range(3)] == [200, 200, 200]
    assert first.send(link, {}).headers["Location"] == "/"
    assert first.open("/devices").status_code == 200
    assert (second.open(link).status_code, second.send(link, {}).status_code) == (410, 410)
    assert second.open("/devices").status_code == 401


def test_a_link_is_too_old_after_some_minutes(shop) -> None:
    link, browser = link_for(shop), Browser(shop)
    shop.now += LINK_LIFE

    assert browser.send(link, {}).status_code == 410


def test_unknown_tokens_and_links_are_held_up_by_address(shop) -> None:
    browser = Browser(shop)
    browser.client.environ_base["REMOTE_ADDR"] = "192.0.2.9"
    for n in range(5):
        browser.send("/sign-in", {"token": f"gf_a{n}_b"})
        browser.send(f"/link/none{n}", {})

    assert browser.send("/sign-in", {"token": "gf_a_b"}).status_code == 429
    assert browser.open("/link/none").status_code == 429
    shop.now += timedelta(minutes=1)
    assert browser.send("/sign-in", {"token": shop.tokens["owner"]}).status_code == 303


@pytest.mark.parametrize("ended", ["sign out", "revoked", "idle", "old"])
def test_a_session_ends(shop, ended) -> None:
    made = shop.post("/v1/tokens", {"name": "for a while", "role": "dispatcher"})
    browser = Browser(shop, made["token"])
    match ended:
        case "sign out":
            assert browser.send("/sign-out", {}).headers["Location"] == "/sign-in"
        case "revoked":
            shop.ask("DELETE", f"/v1/tokens/{made['id']}")
        case "idle":
            shop.now += IDLE
        case "old":
            start = shop.now
            while shop.now < start + LONGEST:
                assert browser.open("/devices").status_code == 200
                shop.now += IDLE - timedelta(days=1)

    assert browser.open("/devices").status_code == 401
    assert browser.open("/devices", Accept="application/json").json["type"] == "/problems/unauthenticated"


def test_a_device_is_signed_out_from_another_one_and_only_by_its_owner(shop) -> None:
    lost, found = (Browser(shop, shop.tokens["technician"]) for _ in range(2))
    stranger, owner = Browser(shop, shop.tokens["other technician"]), Browser(shop, shop.tokens["owner"])
    with shop.database.reading() as store:
        of_lost = store.sessions.by_hash(sessions.hash_secret(lost.client.get_cookie("session").value))[0].id

    assert stranger.send(f"/devices/{of_lost}/end", {}).status_code == 404
    assert lost.open("/devices").text.count("/end") == 2
    assert owner.open("/devices").text.count("/end") == 4
    assert found.send(f"/devices/{of_lost}/end", {}).status_code == 303
    assert (lost.open("/devices").status_code, found.open("/devices").status_code) == (401, 200)
    assert shop.get("/v1/audit?resource=session")["items"][0]["action"] == "deleted"


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Sec-Fetch-Site": "same-origin"}, 303),
        ({"Sec-Fetch-Site": "same-site"}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "none"}, 403),
        ({"Origin": "http://localhost"}, 303),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"}, 403),
        ({}, 403),
    ],
)
def test_only_a_page_of_this_server_may_send_a_form(shop, headers, status) -> None:
    browser = Browser(shop, shop.tokens["owner"])

    assert browser.client.post("/sign-out", headers=headers).status_code == status


def test_a_link_from_another_site_is_opened_again_from_here(shop) -> None:
    answer = Browser(shop).open("/devices?x=1", Sec_Fetch_Site="cross-site")

    assert answer.status_code == 200
    assert 'content="0;url=/devices?x=1"' in answer.text


@pytest.mark.parametrize("path", ["https://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)"])
def test_signing_in_leads_to_no_other_site(shop, path) -> None:
    answer = Browser(shop).send("/sign-in", {"token": shop.tokens["owner"], "next": path})

    assert answer.headers["Location"] == "/"


def test_every_page_forbids_what_it_does_not_need(shop) -> None:
    headers = Browser(shop).open("/sign-in").headers

    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert headers["Cache-Control"] == "no-store"
    assert headers["X-Content-Type-Options"] == "nosniff"


def test_a_session_opens_no_door_of_the_api(shop) -> None:
    assert Browser(shop, shop.tokens["owner"]).open("/v1/tokens").status_code == 401


ROUTES = [page for pages in SUBJECTS for page in pages.all if page.allow]


@pytest.mark.parametrize("role", ["technician", "dispatcher", "owner", "reader"])
def test_no_role_opens_what_it_may_not_do(site, role) -> None:
    browser = Browser(site, site.tokens[role])
    for page in ROUTES:
        path = page.path.replace("<int:number>", "1")
        for name in ("session_id", "tag", "visit_id", "code", "call_id", "secret", "version", "name"):
            path = path.replace(f"<{name}>", "none")
        answer = browser.client.open(path, method=page.method, headers=SAME_SITE)
        assert (answer.status_code == 403) == (role not in page.allow), (page.method, page.path, answer.status_code)
        if page.path == "/sign-out":
            browser = Browser(site, site.tokens[role])


def test_without_a_session_every_page_leads_to_signing_in(site) -> None:
    browser = Browser(site)
    for page in ROUTES:
        answer = browser.client.open(page.path.replace("<int:number>", "1"), method=page.method, headers=SAME_SITE)
        assert answer.status_code == 401, page.path


def test_the_technician_of_the_token_is_that_of_the_session(site) -> None:
    site.post("/v1/technicians", site.example("technician"))

    assert "rhea, technician" in technician_of(site).page("/devices")
