"""TLS: versions, protocol, a certificate that is renewed, and handshakes that nobody finishes."""

import os
import shutil
import ssl
from contextlib import ExitStack, suppress
from pathlib import Path

import pytest

from service.server.tls import Certificate, certificate_of
from service.settings import Settings
from tests.server.conftest import Server, Start, read_all, status_of

HERE = Path(__file__).parent
FILES = {"tls_certificate": str(HERE / "localhost.pem"), "tls_key": str(HERE / "localhost.key")}
GET = b"GET /v1/seen HTTP/1.1\r\nHost: localhost\r\n\r\n"
CLOSE = GET.replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n")


def client(**limits: ssl.TLSVersion) -> ssl.SSLContext:
    """A client that trusts the certificate of the tests."""
    context = ssl.create_default_context(cafile=HERE / "localhost.pem")
    context.set_alpn_protocols(["h2", "http/1.1"])
    for name, version in limits.items():
        setattr(context, name, version)
    return context


def secured(server: Server, context: ssl.SSLContext) -> ssl.SSLSocket:
    return context.wrap_socket(server.connect(), server_hostname="localhost")


@pytest.fixture(scope="module")
def tls_server(tmp_path_factory: pytest.TempPathFactory):
    """A server with TLS."""
    server = Server(tmp_path_factory.mktemp("tls"), tls_handshake_seconds=1, **FILES)
    yield server
    assert server.end()[1] == ""


@pytest.mark.parametrize("version", [ssl.TLSVersion.TLSv1_2, ssl.TLSVersion.TLSv1_3])
def test_a_client_is_answered_over_http_1_1(tls_server: Server, version: ssl.TLSVersion) -> None:
    with secured(tls_server, client(minimum_version=version, maximum_version=version)) as connection:
        assert connection.selected_alpn_protocol() == "http/1.1"
        connection.sendall(GET * 3)
        connection.sendall(CLOSE)
        answer = read_all(connection)

    assert answer.count(b'"wsgi.url_scheme":"https"') == 4


def test_an_older_version_is_not_spoken(tls_server: Server) -> None:
    """RFC 8996: TLS 1.0 and 1.1 must not be negotiated."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    context.set_ciphers("ALL:@SECLEVEL=0")
    with pytest.warns(DeprecationWarning, match="deprecated"):
        context.minimum_version, context.maximum_version = ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1
    with pytest.raises(ssl.SSLError):
        secured(tls_server, context)


def test_every_cipher_suite_is_authenticated_encryption_with_forward_secrecy() -> None:
    """RFC 9325, 4.2, and RFC 7905: of TLS 1.2 only ECDHE with AES-GCM or ChaCha20-Poly1305; the server chooses."""
    context = Certificate(Path(FILES["tls_certificate"]), Path(FILES["tls_key"])).context
    suites = context.get_ciphers()

    assert [suite["name"] for suite in suites if not suite["aead"]] == []
    assert {suite["kea"] for suite in suites if suite["protocol"] != "TLSv1.3"} == {"kx-ecdhe"}
    assert {suite["protocol"] for suite in suites} == {"TLSv1.2", "TLSv1.3"}
    assert context.options & ssl.OP_CIPHER_SERVER_PREFERENCE


def test_a_refusal_of_the_server_has_the_headers_of_every_answer(tls_server: Server) -> None:
    with secured(tls_server, client()) as connection:
        connection.sendall(b"GET / HTTP/3.0\r\n\r\n")
        answer = read_all(connection)

    assert b"\r\nStrict-Transport-Security: max-age=31536000; includeSubDomains\r\n" in answer
    assert b"frame-ancestors 'none'" in answer
    assert b"\r\nReferrer-Policy: no-referrer\r\n" in answer


def test_handshakes_that_nobody_finishes_keep_nobody_waiting_and_end(tls_server: Server) -> None:
    with ExitStack() as held:
        silent = [held.enter_context(tls_server.connect()) for _ in range(20)]
        half = [held.enter_context(tls_server.connect()) for _ in range(5)]
        for connection in half:
            connection.sendall(b"\x16\x03\x01\x02\x00\x01")
        with secured(tls_server, client()) as connection:
            connection.sendall(CLOSE)
            assert status_of(read_all(connection)) == 200
        for each in (*silent, *half):
            read_all(each)
    line = tls_server.logged(message="dropped")
    assert line["address"] == "127.0.0.1"
    assert line["reason"].startswith("no TLS handshake: ")


def test_plain_http_on_the_port_of_tls_is_closed(tls_server: Server) -> None:
    with tls_server.connect() as connection:
        connection.sendall(GET)
        with suppress(ConnectionResetError):
            assert b"HTTP" not in read_all(connection)


def test_a_large_answer_and_a_refused_body_arrive_over_tls(tls_server: Server) -> None:
    with secured(tls_server, client()) as connection:
        connection.sendall(b"GET /v1/pieces HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        assert len(read_all(connection)) > 30_000_000
    with secured(tls_server, client()) as connection:
        connection.sendall(b"POST /v1/owned HTTP/1.1\r\nHost: localhost\r\nContent-Length: 3000000\r\n\r\n")
        assert status_of(read_all(connection)) == 401


def test_a_client_that_does_not_read_is_dropped_over_tls(start: Start) -> None:
    server = start(stall_seconds=1, **FILES)
    with secured(server, client()) as connection:
        connection.sendall(b"GET /v1/pieces HTTP/1.1\r\nHost: localhost\r\n\r\n")
        assert server.logged(reason="the client did not read its answer")


def test_a_server_with_tls_ends_in_good_order(start: Start) -> None:
    server = start(**FILES)
    with secured(server, client()) as connection:
        connection.sendall(GET.replace(b"/v1/seen", b"/v1/slow"))
        assert server.line() == "begun"
        assert server.end() == ("ended\n", "")
        answer = read_all(connection)
    assert (status_of(answer), b"\r\nConnection: close\r\n" in answer) == (200, True)


def test_a_renewed_certificate_is_used_and_a_broken_one_is_not(tmp_path: Path) -> None:
    certificate, key = tmp_path / "c.pem", tmp_path / "k.pem"
    put(("localhost.pem", certificate), ("localhost.key", key))
    made = Certificate(certificate, key)
    before = certificate_shown(made)
    put(("other.pem", certificate))
    with pytest.raises(OSError, match=r"(?i)key.values.mismatch"):
        made.refresh()
    assert certificate_shown(made) == before
    put(("other.key", key))
    made.refresh()

    assert certificate_shown(made) != before


def put(*files: tuple[str, Path]) -> None:
    """Copy files; each is newer than those before."""
    for name, path in files:
        shutil.copyfile(HERE / name, path)
        put.time += 10  # type: ignore[attr-defined]
        os.utime(path, (put.time, put.time))  # type: ignore[attr-defined]


put.time = 1_700_000_000  # type: ignore[attr-defined]


def certificate_shown(made: Certificate) -> bytes | None:
    """The certificate that a client gets, over a connection in memory."""
    to_client, to_server = ssl.MemoryBIO(), ssl.MemoryBIO()
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    ours = made.context.wrap_bio(to_server, to_client, server_side=True)
    theirs = context.wrap_bio(to_client, to_server)
    for side in (theirs, ours, theirs, ours):
        try:
            side.do_handshake()
        except ssl.SSLWantReadError:
            continue
    return theirs.getpeercert(binary_form=True)


def test_files_that_are_no_certificate_are_named(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.pem"
    wrong.write_text("x")
    settings = Settings(database_url="sqlite://", home=tmp_path, tls_certificate=wrong, tls_key=wrong)

    with pytest.raises(OSError, match=r"wrong\.pem are no certificate with its key"):
        certificate_of(settings)
    assert certificate_of(Settings(database_url="sqlite://", home=tmp_path)) is None
