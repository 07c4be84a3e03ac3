"""Generated requests, short: no answer is wrong, and valid requests get past the checks of the document.

Reference: schemathesis, which makes requests from the published document by JSON Schema and OpenAPI 3.1.
"""

import re

import pytest

from tests.fuzz_requests.run import Outcome, fault_of, run


def test_no_generated_request_gets_a_wrong_answer() -> None:
    outcome = run(600)

    assert outcome.failures == []
    assert {200, 201, 403, 404, 422} <= outcome.statuses.keys()


def test_most_valid_requests_get_beyond_422() -> None:
    outcome = run(900, start=1, damaged=False, aimed=1.0)

    assert outcome.failures == []
    assert outcome.share() >= 0.8, outcome.valid


class Case:
    """A case whose answers all conform."""

    def validate_response(self, answer: object, checks: object) -> None:
        """Find nothing."""


class Answer:
    """An answer with a status."""

    def __init__(self, status: int, content: bytes, media: str) -> None:
        self.status_code, self.content, self.headers = status, content, {"content-type": [media]}


@pytest.mark.parametrize(
    ("content", "media", "wrong"),
    [
        (b'{"status": 422}', "application/problem+json", None),
        (b'{"status": 422}', "application/json", "no problem"),
        (b'{"status": 400}', "application/problem+json", "no problem"),
        (b'{"status": 422, "errors": [%s]}' % b",".join([b"1"] * 51), "application/problem+json", "more than 50"),
    ],
)
def test_a_wrong_answer_is_noticed(content: bytes, media: str, wrong: str | None) -> None:
    found = fault_of(Case(), Answer(422, content, media))

    assert found is None if wrong is None else re.search(wrong, found or "")


def test_shares_count_only_what_got_beyond() -> None:
    outcome = Outcome()
    outcome.valid.update(accepted=6, reference=2, refused=2)

    assert (outcome.share(), outcome.share("reference")) == (0.6, 0.8)
