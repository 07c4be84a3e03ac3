"""Lists in parts. Cursors are base64url (RFC 4648, section 5), the next part is a link (RFC 8288)."""

import base64
from typing import Any

import pytest
from flask import Flask, Response
from flask.testing import FlaskClient
from werkzeug.http import parse_options_header

from service.api import endpoint, paging
from service.api.auth import OPEN
from service.schemas.fields import line
from service.schemas.paging import PageQuery

NUMBERS = range(1, 8)


class NumberQuery(PageQuery):
    """Which numbers."""

    words = line()


@pytest.fixture
def client(file_app: Flask) -> FlaskClient:
    """An application with a list of the numbers 1 to 7."""
    routes = endpoint.Routes("toys")

    @routes.get("/v1/numbers", allow=OPEN, query=NumberQuery, answers={200: None})
    def numbers(query: dict[str, Any]) -> Response:
        behind = paging.after(query, int)
        found = [number for number in NUMBERS if not behind or number > behind[0]][: query["limit"] + 1]
        return paging.page(found, query, key=lambda number: (number,), show=lambda number: number)

    endpoint.register(file_app, [routes])
    return file_app.test_client()


def test_a_list_that_fits_has_no_next(client: FlaskClient) -> None:
    answer = client.get("/v1/numbers?limit=7")

    assert answer.get_json() == {"items": [1, 2, 3, 4, 5, 6, 7], "next": None}
    assert "Link" not in answer.headers


def test_following_next_gives_every_item_once(client: FlaskClient) -> None:
    items, path = [], "/v1/numbers?limit=3"
    while path:
        page = client.get(path).get_json()
        items += page["items"]
        path = page["next"]

    assert items == [1, 2, 3, 4, 5, 6, 7]


def test_the_link_header_leads_where_next_does(client: FlaskClient) -> None:
    answer = client.get("/v1/numbers?limit=3")

    target, parameters = parse_options_header(answer.headers["Link"])
    assert (target, parameters) == (f"<{answer.get_json()['next']}>", {"rel": "next"})


def test_next_keeps_the_other_parameters(client: FlaskClient) -> None:
    following = client.get("/v1/numbers", query_string={"limit": 2, "words": "a&b=c ö"}).get_json()["next"]

    assert client.get(following).status_code == 200
    assert following.startswith("/v1/numbers?limit=2&words=a%26b%3Dc+%C3%B6&cursor=")


def text(raw: str) -> str:
    return base64.urlsafe_b64encode(raw.encode()).decode().rstrip("=")


@pytest.mark.parametrize(
    "cursor",
    [
        "!", "a", "ünï", text("7"), text("{}"), text("[]"), text("[1, 2]"), text('["1"]'), text("[true]"),
        text("[1.5]"), text("[9223372036854775808]"), text("[null]"), text("[" * 300), text("[1") + "=",
        "W" * 1000, "!" + text("[7]"),
    ],
)  # fmt: skip
def test_a_cursor_not_ours_is_refused_by_name(client: FlaskClient, cursor: str) -> None:
    answer = client.get("/v1/numbers", query_string={"cursor": cursor})

    assert (answer.status_code, answer.get_json()["errors"][0]["field"]) == (422, "cursor")


def test_a_text_key_that_cannot_be_kept_is_refused(client: FlaskClient) -> None:
    with client.application.test_request_context():
        with pytest.raises(Exception, match="cursor"):
            paging.after({"cursor": text(r'["\u0000"]')}, str)


@pytest.mark.parametrize("limit", ["0", "501", "-1", "x", "", "1e3", "2.5"])
def test_a_limit_out_of_range_is_refused_by_name(client: FlaskClient, limit: str) -> None:
    answer = client.get("/v1/numbers", query_string={"limit": limit})

    assert (answer.status_code, answer.get_json()["errors"][0]["field"]) == (422, "limit")


def test_a_cursor_gives_back_its_key() -> None:
    assert paging.after({"cursor": paging.cursor(["2026-06-09", 7])}, str, int) == ("2026-06-09", 7)
