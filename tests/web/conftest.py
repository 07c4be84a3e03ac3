"""Browsers without a window: clients with cookies that send forms as a browser does."""

import re
from collections.abc import Iterator
from html import unescape
from typing import Any

import pytest
from werkzeug.test import Client, TestResponse

from tests.api.resources.conftest import Shop, open_shop, shop, shop_at  # noqa: F401 - two are fixtures

ACCEPTED = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}
SAME_SITE = {"Sec-Fetch-Site": "same-origin"}


class Browser:
    """A browser signed in with a token, or with none."""

    def __init__(self, site: Shop, token: str | None = None) -> None:
        self.site = site
        self.client: Client = site.app.test_client()
        if token is not None:
            assert self.send("/sign-in", {"token": token}).status_code == 303

    def open(self, path: str, **headers: str) -> TestResponse:
        """A page; keyword headers are written with underscores."""
        sent = ACCEPTED | {name.replace("_", "-"): value for name, value in headers.items()}
        return self.client.get(path, headers=sent)

    def page(self, path: str) -> str:
        """The text of a page that must open, without tags and with single spaces."""
        answer = self.open(path)
        assert answer.status_code == 200, (path, answer.status_code, answer.text[:2000])
        return text_of(answer.text)

    def send(self, path: str, form: Any, **headers: str) -> TestResponse:
        """A form, sent from a page of the same server; `form` is a dict or a list of pairs."""
        sent = ACCEPTED | SAME_SITE | {name.replace("_", "-"): value for name, value in headers.items()}
        pairs = form.items() if isinstance(form, dict) else form
        fields: dict[str, list[str]] = {}
        for name, value in pairs:
            fields.setdefault(name, []).append(value)
        return self.client.post(path, data=fields, headers=sent)


def text_of(html: str) -> str:
    """What is read on a page."""
    joined = re.sub(r"</?(?:bdi|strong|time|a|b)\b[^>]*>", "", html.partition("<main")[2])
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", joined)))


@pytest.fixture(scope="session")
def open_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """The application on SQLite, for tests of pages alone."""
    home = tmp_path_factory.mktemp("site")
    with shop_at(f"sqlite:///{home}/fleet.db", home) as made:
        yield made


@pytest.fixture
def site(open_site: Shop) -> Shop:
    """The application with an empty database; it is 2026-06-09T21:00Z."""
    open_site.empty()
    return open_site


def technician_of(site: Shop, code: str = "rhea") -> Browser:
    """A browser of a technician's own token; the technician must be registered."""
    made = site.post("/v1/tokens", {"name": code, "role": "technician", "technician": code, "units_shown": "us"})
    return Browser(site, made["token"])


@pytest.fixture
def office(site: Shop) -> Browser:
    """A dispatcher's browser, at a fleet with the example's unit."""
    site.unit()
    return Browser(site, site.tokens["dispatcher"])


@pytest.fixture
def owner(site: Shop) -> Browser:
    """An owner's browser, at a fleet with the example's unit."""
    site.unit()
    return Browser(site, site.tokens["owner"])
