"""Requests that are wrong, by RFC 9112 (HTTP/1.1) and RFC 9110: each gets a problem, and the connection ends."""

import pytest

from tests.server.conftest import Server, problem_of, read_all, status_of

HOST = b"Host: localhost\r\n"
GET = b"GET /healthz HTTP/1.1\r\n" + HOST
POST = b"POST /v1/echo HTTP/1.1\r\n" + HOST + b"Content-Type: application/json\r\n"
CHUNKED = POST + b"Transfer-Encoding: chunked\r\n\r\n"

# What is sent, the status; the section of RFC 9112 unless another is named.
WRONG = {
    "Content-Length of 5000 digits": (POST + b"Content-Length: " + b"9" * 5000 + b"\r\n\r\n", 400),  # 6.3
    "Content-Length -5": (POST + b"Content-Length: -5\r\n\r\n", 400),
    "Content-Length +7": (POST + b'Content-Length: +7\r\n\r\n"abcde"', 400),
    "Content-Length 0_7": (POST + b'Content-Length: 0_7\r\n\r\n"abcde"', 400),
    "Content-Length x": (POST + b"Content-Length: x\r\n\r\n", 400),
    "two Content-Length": (POST + b'Content-Length: 7\r\nContent-Length: 8\r\n\r\n"abcde"x', 400),
    "Content-Length listed": (POST + b'Content-Length: 7, 7\r\n\r\n"abcde"', 400),
    "Transfer-Encoding and Content-Length": (  # 6.1
        POST + b'Content-Length: 7\r\nTransfer-Encoding: chunked\r\n\r\n7\r\n"abcde"\r\n0\r\n\r\n',
        400,
    ),
    "unknown coding": (POST + b"Transfer-Encoding: gzip\r\n\r\n", 400),  # 6.1
    "coding over chunked": (POST + b"Transfer-Encoding: gzip, chunked\r\n\r\n0\r\n\r\n", 400),
    "chunked twice": (POST + b"Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", 400),
    "chunked in HTTP/1.0": (b"POST /v1/echo HTTP/1.0\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", 400),  # 6.1
    "chunk size 0x7": (CHUNKED + b'0x7\r\n"abcde"\r\n0\r\n\r\n', 400),  # 7.1
    "chunk size 0_7": (CHUNKED + b'0_7\r\n"abcde"\r\n0\r\n\r\n', 400),
    "chunk size -1": (CHUNKED + b"-1\r\n\r\n0\r\n\r\n", 400),
    "bare LF in a chunk extension": (CHUNKED + b'7;a\nb\r\n"abcde"\r\n0\r\n\r\n', 400),
    "chunk longer than its size": (CHUNKED + b'3\r\n"abcde"\r\n0\r\n\r\n', 400),
    "bare LF": (b"GET /healthz HTTP/1.1\nHost: localhost\n\n", 400),  # 2.2
    "bare LF in a field": (b"GET /healthz HTTP/1.1\r\nHost: localhost\nX: y\r\n\r\n", 400),
    "bare CR": (b"GET /healthz HTTP/1.1\r\nHost: local\rhost\r\n\r\n", 400),
    "folded field": (GET + b"X-Name: a\r\n b\r\n\r\n", 400),  # 5.2
    "field before the first name": (b"GET /healthz HTTP/1.1\r\n X: y\r\n" + HOST + b"\r\n", 400),
    "NUL in a field": (GET + b"X-Name: a\x00b\r\n\r\n", 400),  # RFC 9110, 5.5
    "escape in a field": (GET + b"X-Name: a\x1bb\r\n\r\n", 400),
    "blank before the colon": (GET + b"X-Name : a\r\n\r\n", 400),  # 5.1
    "field without colon": (GET + b"X-Name\r\n\r\n", 400),
    "field without name": (GET + b": a\r\n\r\n", 400),
    "no Host": (b"GET /healthz HTTP/1.1\r\n\r\n", 400),  # 3.2
    "two Host": (GET + HOST + b"\r\n", 400),
    "Host with a path": (b"GET /healthz HTTP/1.1\r\nHost: localhost/x\r\n\r\n", 400),
    "Host with a user": (b"GET /healthz HTTP/1.1\r\nHost: a@localhost\r\n\r\n", 400),
    "Host of another": (b"GET /healthz HTTP/1.1\r\nHost: evil.example\r\n\r\n", 421),  # RFC 9110, 15.5.20
    "absolute target of another": (b"GET http://evil.example/healthz HTTP/1.1\r\n" + HOST + b"\r\n", 421),
    "half an IPv6 address": (b"GET http://[x/ HTTP/1.1\r\n" + HOST + b"\r\n", 400),
    "target without slash": (b"GET healthz HTTP/1.1\r\n" + HOST + b"\r\n", 400),  # 3.2
    "fragment in the target": (b"GET /healthz#a HTTP/1.1\r\n" + HOST + b"\r\n", 400),
    "CONNECT": (b"CONNECT localhost:80 HTTP/1.1\r\n" + HOST + b"\r\n", 400),
    "0xff in the target": (b"GET /\xff HTTP/1.1\r\n" + HOST + b"\r\n", 400),
    "blank in the target": (b"GET /a b HTTP/1.1\r\n" + HOST + b"\r\n", 400),
    "no version": (b"GET /healthz\r\n" + HOST + b"\r\n", 400),
    "HTTP/2.0": (b"GET /healthz HTTP/2.0\r\n" + HOST + b"\r\n", 505),  # RFC 9110, 15.6.6
    "HTTP/1.9": (b"GET /healthz HTTP/1.9\r\n" + HOST + b"\r\n", 505),
    "HTTP/2 preface": (b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n", 505),  # RFC 9113, 3.4
    "garbage": (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", 400),
    "blank lines only": (b"\r\n" * 20, 400),
    "30 000 blanks": (GET + b"X-Name: " + b" " * 30_000 + b"x\r\n\r\n", 431),  # RFC 6585, 5
    "64 kB of a field": (GET + b"X-Name: " + b"x" * 65_536 + b"\r\n\r\n", 431),
    "64 kB of path": (b"GET /" + b"x" * 65_536 + b" HTTP/1.1\r\n" + HOST + b"\r\n", 431),
    "101 fields": (GET + b"X-Name: a\r\n" * 100 + b"\r\n", 431),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_is_a_problem_and_the_connection_ends(shared_server: Server, name: str) -> None:
    sent, status = WRONG[name]
    answer = shared_server.raw(sent)  # returns when the server closes

    assert status_of(answer) == status
    problem = problem_of(answer)
    assert problem["status"] == status
    line = shared_server.logged(request_id=problem["instance"])
    assert (line["address"], line["status"], line["reason"]) == ("127.0.0.1", status, problem["detail"])


@pytest.mark.parametrize("name", ["bare LF", "folded field", "30 000 blanks"])
def test_what_is_wrong_is_also_seen_byte_by_byte(shared_server: Server, name: str) -> None:
    sent, status = WRONG[name]
    with shared_server.connect() as connection:
        for n in range(min(len(sent), 80)):
            connection.sendall(sent[n : n + 1])
        connection.sendall(sent[80:])
        assert status_of(read_all(connection)) == status


def test_chunks_that_end_in_bare_lf_never_end(shared_server: Server) -> None:
    answer = shared_server.raw(CHUNKED + b'7\n"abcde"\n0\n\n', end=True)

    assert status_of(answer) == 400


# What looks odd and is right.
RIGHT = {
    "blank lines before": b"\r\n\r\n" + GET + b"\r\n",  # RFC 9112, 2.2
    "absolute target": b"GET http://localhost/healthz HTTP/1.1\r\n" + HOST + b"\r\n",  # 3.2.2
    "absolute target counts, Host does not": b"GET http://localhost/healthz HTTP/1.1\r\nHost: evil.example\r\n\r\n",
    "IPv6 in Host": b"GET /healthz HTTP/1.1\r\nHost: [::1]:8410\r\n\r\n",
    "address in Host": b"GET /healthz HTTP/1.1\r\nHost: 192.0.2.7\r\n\r\n",
    "15 000 blanks": GET + b"X-Name: " + b" " * 15_000 + b"x\r\n\r\n",
    "100 fields": GET + b"X-Name: a\r\n" * 99 + b"\r\n",
    "HTTP/1.0 without Host": b"GET /healthz HTTP/1.0\r\n\r\n",
    "upgrade offered": GET + b"Connection: Upgrade\r\nUpgrade: h2c\r\n\r\n",
    "Expect without body": GET + b"Expect: 100-continue\r\n\r\n",
}


@pytest.mark.parametrize("name", RIGHT)
def test_what_is_right_is_answered(shared_server: Server, name: str) -> None:
    assert status_of(shared_server.raw(RIGHT[name], end=True)) == 200


@pytest.mark.parametrize(
    ("target", "status"),
    [(b"/%00", 404), (b"//[x", 404), (b"/%ff", 404), (b"/v1/units/%00", 404), (b"/" + b"a/" * 2000, 404)],
)
def test_a_strange_path_is_no_path_of_ours(shared_server: Server, target: bytes, status: int) -> None:
    answer = shared_server.raw(b"GET " + target + b" HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n")

    assert status_of(answer) == status
    assert problem_of(answer)["status"] == status


@pytest.mark.parametrize(("name", "status"), [(b"%6Eot-found", 200), (b"%256Eot-found", 404)])
def test_a_path_is_decoded_once(shared_server: Server, name: bytes, status: int) -> None:
    """RFC 3986, 2.4: %256E is the text %6E, not the letter n."""
    answer = shared_server.raw(b"GET /problems/" + name + b" HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n")

    assert status_of(answer) == status


def test_a_method_that_nothing_takes_is_a_problem(shared_server: Server) -> None:
    for method in (b"TRACE", b"OPTIONS", b"X-PURGE"):
        answer = shared_server.raw(method + b" /healthz HTTP/1.1\r\n" + HOST + b"Connection: close\r\n\r\n")
        assert status_of(answer) == 405


def test_a_refused_head_request_has_no_body(shared_server: Server) -> None:
    answer = shared_server.raw(b"HEAD /healthz HTTP/1.1\r\nHost: evil.example\r\n\r\n")

    assert status_of(answer) == 421
    assert answer.endswith(b"\r\n\r\n")


def test_a_name_with_an_underscore_does_not_pass_for_one_with_a_hyphen(shared_server: Server) -> None:
    close = b"Connection: close\r\n"
    answer = shared_server.raw(
        b"GET /v1/seen HTTP/1.1\r\n" + HOST + close + b"X_Name: a\r\nX-Name: b\r\nX-Name: c\r\n\r\n"
    )

    assert b'"HTTP_X_NAME":"b, c"' in answer
