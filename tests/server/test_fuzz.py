"""A short form of `python -m tests.fuzz_sockets`."""

import pytest

from tests.fuzz_sockets import faults_logged, judged, run
from tests.server.conftest import Server


def test_300_malformed_requests_are_answered_by_problems_or_closed(shared_server: Server) -> None:
    counts, wrong = run(shared_server, 300, seed=7)

    assert wrong == []
    assert faults_logged(shared_server) == []
    assert {"200", "400", "401", "431", "505"} <= set(counts)


@pytest.mark.parametrize(
    ("answer", "found"),
    [
        (b"", "closed"),
        (b"HTTP/1.1 200 OK\r\n\r\n", "200"),
        (b"HTTP/1.1 100 \r\n\r\nHTTP/1.1 200 OK\r\n\r\n", "200"),
        (
            b"HTTP/1.1 404 X\r\nContent-Type: application/problem+json\r\n\r\n" + b'{"type":"/problems/not-found"}',
            "404",
        ),
        (b"HTTP/1.1 404 X\r\n\r\n", "WRONG"),
        (b"HTTP/1.1 500 X\r\nContent-Type: application/problem+json\r\n\r\n{}", "WRONG"),
        (b"HTTP/1.1 404 X\r\nContent-Type: application/problem+json\r\n\r\nx", "WRONG"),
    ],
)
def test_an_answer_is_judged(answer: bytes, found: str) -> None:
    assert judged(answer).partition(":")[0] == found
