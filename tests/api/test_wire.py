"""JSON at the door. RFC 8259 says what JSON is; RFC 7493 (I-JSON) what of it every reader understands alike."""

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.api import endpoint, wire
from service.api.auth import OPEN
from service.domain.errors import Invalid

JSON = "application/json"
BODY_OF_20_MB = b'{"words": "' + b"x" * 20_000_000 + b'"}'


@pytest.fixture
def echo(file_app: Flask) -> FlaskClient:
    """An application that answers with the JSON it was sent."""
    routes = endpoint.Routes("toys")

    @routes.post("/v1/echo", allow=OPEN, answers={200: None})
    def echo_body() -> dict[str, Any]:
        return {"got": wire.json_body()}

    @routes.post("/v1/lines", allow=OPEN, answers={200: None})
    def count_bytes() -> dict[str, int]:
        return {"bytes": len(wire.raw_body(200_000))}

    endpoint.register(file_app, [routes])
    return file_app.test_client()


def refusal(raw: bytes) -> tuple[str, str]:
    with pytest.raises(Invalid) as caught:
        wire.parse(raw)
    return caught.value.faults[0].field, caught.value.faults[0].message


def test_plain_json_passes_unchanged(echo: FlaskClient) -> None:
    sent = {"tag": "GU-0007", "split": 25.5, "ports": [True, None], "words": "köl ❄"}

    assert echo.post("/v1/echo", json=sent).get_json() == {"got": sent}


@pytest.mark.parametrize(
    "kind", ["application/json", "application/merge-patch+json", "application/json; charset=UTF-8"]
)
def test_json_types_are_taken(echo: FlaskClient, kind: str) -> None:
    assert echo.post("/v1/echo", data=b"{}", content_type=kind).status_code == 200


@pytest.mark.parametrize(
    "kind", ["text/plain", "", "application/x-www-form-urlencoded", "application/json; charset=latin-1"]
)
def test_another_type_is_415(echo: FlaskClient, kind: str) -> None:
    answer = echo.post("/v1/echo", data=b"{}", content_type=kind)

    assert (answer.status_code, answer.mimetype) == (415, "application/problem+json")


def test_a_packed_body_is_415(echo: FlaskClient) -> None:
    answer = echo.post("/v1/echo", data=b"\x1f\x8b", content_type=JSON, headers={"Content-Encoding": "gzip"})

    assert answer.status_code == 415


# RFC 8259: section 2 (a document is one value), 8.1 (UTF-8, no byte order mark), 7 (no bare control characters)
@pytest.mark.parametrize(
    "raw",
    [b"", b"  ", b"{", b'{"a": 1,}', b"{'a': 1}", b"{} {}", b'"\xff"', b"\xef\xbb\xbf{}", b'"a\x01b"', b"{\x00}"],
)
def test_what_is_not_json_is_400(echo: FlaskClient, raw: bytes) -> None:
    answer = echo.post("/v1/echo", data=raw, content_type=JSON)

    assert (answer.status_code, answer.mimetype) == (400, "application/problem+json")


def test_invalid_utf8_is_reported_with_its_place(echo: FlaskClient) -> None:
    answer = echo.post("/v1/echo", data=b'{"a": "\xff"}', content_type=JSON)

    assert "0xff at 7" in answer.get_json()["detail"]


# RFC 8259 section 6: "Numeric values that cannot be represented in the grammar [...] (such as Infinity and NaN) are
# not permitted."
@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_words_for_no_number_are_422_and_name_the_field(echo: FlaskClient, word: str) -> None:
    answer = echo.post("/v1/echo", data=f'{{"readings": [{{"value": {word}}}]}}', content_type=JSON)

    assert answer.status_code == 422
    assert answer.get_json()["errors"][0] == {
        "field": "readings.0.value",
        "value": word,
        "message": "not a JSON number; only finite numbers can be given",
    }


# RFC 7493 section 2.3: "Objects in I-JSON messages MUST NOT have members with duplicate names."
@pytest.mark.parametrize(("raw", "field"), [(b'{"a": 1, "a": 1}', "a"), (b'{"x": [{"b": 1, "\\u0062": 2}]}', "x.0.b")])
def test_a_repeated_name_is_refused(raw: bytes, field: str) -> None:
    assert refusal(raw) == (field, "this name appears more than once in the object")


# RFC 7493 section 2.2: numbers beyond a double are not to be expected to survive
@pytest.mark.parametrize("number", ["9223372036854775808", "-9223372036854775808", "1e999", "-1e999", "9" * 5000])
def test_a_number_beyond_64_bits_is_refused(number: str) -> None:
    assert refusal(f'{{"a": [0, {number}]}}'.encode())[0] == "a.1"


def test_the_largest_number_passes() -> None:
    assert wire.parse(b"[9223372036854775807, -9223372036854775807, 1.7e308]") == [2**63 - 1, 1 - 2**63, 1.7e308]


# RFC 7493 section 2.1: no surrogates that are not a pair. NUL cannot be kept by PostgreSQL (its manual, section 8.3).
@pytest.mark.parametrize(
    ("raw", "field"),
    [
        (rb'{"a": "\ud83e"}', "a"),
        (rb'["\udd76\ud83e"]', "0"),
        (rb'{"a": "\u0000"}', "a"),
        (rb'{"\u0000": 1}', "\0"),
        (rb'"\ud800"', "body"),
    ],
)
def test_text_that_cannot_be_kept_is_refused(raw: bytes, field: str) -> None:
    assert refusal(raw) == (field, wire.TEXT_RULE)


def test_a_whole_surrogate_pair_is_one_character() -> None:
    assert wire.parse(rb'"\ud83e\uddca"') == "\U0001f9ca"


@pytest.mark.parametrize("depth", [41, 500, 20_000])
def test_deep_nesting_is_refused(depth: int) -> None:
    assert refusal(b"[" * depth + b"]" * depth)[1] == "nested deeper than 40 levels"


def test_forty_levels_pass() -> None:
    assert wire.parse(b"[" * 40 + b"]" * 40)


def test_a_hundred_faults_are_reported_fifty_at_a_time() -> None:
    with pytest.raises(Invalid) as caught:
        wire.parse(b"[" + b",".join([b"NaN"] * 100) + b"]")

    assert [fault.field for fault in caught.value.faults] == [str(place) for place in range(50)]


def test_a_body_of_20_mb_is_413(echo: FlaskClient) -> None:
    answer = echo.post("/v1/echo", data=BODY_OF_20_MB, content_type=JSON)

    assert (answer.status_code, answer.mimetype) == (413, "application/problem+json")


def test_the_limit_itself_passes_and_one_more_does_not(echo: FlaskClient) -> None:
    longest = b'"' + b"x" * 99_998 + b'"'

    assert echo.post("/v1/echo", data=longest, content_type=JSON).status_code == 200
    assert echo.post("/v1/echo", data=longest + b" ", content_type=JSON).status_code == 413


def test_a_route_may_take_a_larger_raw_body(echo: FlaskClient) -> None:
    assert echo.post("/v1/lines", data=b"x" * 200_000).get_json() == {"bytes": 200_000}
    assert echo.post("/v1/lines", data=b"x" * 200_001).status_code == 413


def test_an_answer_without_a_payload_has_no_type() -> None:
    assert wire.answer(None, 204).content_type is None
