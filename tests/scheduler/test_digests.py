"""Morning digests: off by default, delivered once, signed, retried, to public addresses alone.

Reference for the signature: the example of the Standard Webhooks specification.
"""

import socket
import ssl
import threading
from collections.abc import Iterator
from contextlib import closing, suppress
from datetime import UTC, date, datetime, timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import ClassVar

import orjson
import pytest

from service.app import migrate, open_database
from service.cli.serving import digests_of
from service.domain.audit import Actor
from service.scheduler.digests import MOST_ATTEMPTS, Digests, send
from service.scheduler.webhook import NotDelivered, Webhook, post, signature
from service.settings import Settings, from_environment
from service.usecases.record import fleet, units

SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
MORNING = datetime(2026, 6, 9, 12, 5, tzinfo=UTC)  # 06:05 in Denver


@pytest.fixture
def database(tmp_path) -> Iterator[object]:
    settings = Settings(database_url=f"sqlite:///{tmp_path}/fleet.db", home=tmp_path)
    migrate(settings)
    with closing(open_database(settings)) as opened:
        opened.check_start()
        actor = Actor("setup", "owner", None, MORNING)
        with opened.writing() as store:
            fleet.add_technician(store, actor, {"code": "rhea", "name": "Rhea"})
            fleet.add_customer(store, actor, {"code": "lantern", "name": "Lantern <Room>"})
            where = {"code": "quay", "customer": "lantern", "name": "Quay", "time_zone": "America/Denver"}
            fleet.add_site(store, actor, {**where, "technician": "rhea"})
            units.add_unit(store, actor, {"tag": "GU-1", "site": "quay"})
        yield opened


class Receiver(BaseHTTPRequestHandler):
    """Answers with the next status, and keeps what was posted."""

    statuses: ClassVar[list[int]] = []
    got: ClassVar[list[tuple[dict[str, str], bytes]]] = []

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.got.append(({name.lower(): value for name, value in self.headers.items()}, body))
        self.send_response(self.statuses.pop(0) if self.statuses else 204)
        self.send_header("Location", "/elsewhere")
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Nothing is printed."""


@pytest.fixture
def webhook() -> Iterator[Webhook]:
    Receiver.statuses, Receiver.got = [], []
    with HTTPServer(("127.0.0.1", 0), Receiver) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.01,))
        thread.start()
        yield Webhook(f"http://127.0.0.1:{server.server_port}/hook?a=1", SECRET, private=True)
        server.shutdown()
        thread.join()


def test_the_signature_is_that_of_the_specification() -> None:
    body = b'{"test": 2432232314}'

    assert (
        signature(SECRET, "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, body)
        == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
    )


def test_by_default_there_are_none(tmp_path) -> None:
    assert digests_of(from_environment({"GLYCOL_FLEET_HOME": str(tmp_path)})) is None


def test_they_are_written_once_a_day_at_their_time(database, tmp_path) -> None:
    to = Digests(folder=tmp_path / "digests")
    (tmp_path / "digests").mkdir()
    send(database, to, MORNING - timedelta(minutes=10))
    assert list((tmp_path / "digests").iterdir()) == []

    send(database, to, MORNING)
    names = sorted(path.name for path in (tmp_path / "digests").iterdir())
    assert names == [f"2026-06-09-{who}.{form}" for who in ("office", "technician-rhea") for form in ("html", "txt")]
    text = (tmp_path / "digests" / "2026-06-09-technician-rhea.txt").read_text()
    assert "Quay" in text
    assert "Pump check" in text.replace("\n", " ")
    html = (tmp_path / "digests" / "2026-06-09-office.html").read_text()
    assert "Lantern &lt;Room&gt;" in html
    assert "<h2>Weeks ahead</h2>" in html
    assert (tmp_path / "digests" / "2026-06-09-technician-rhea.txt").stat().st_mode & 0o077 == 0

    (tmp_path / "digests" / names[0]).unlink()
    send(database, to, MORNING + timedelta(minutes=5))
    assert len(list((tmp_path / "digests").iterdir())) == 3


@pytest.mark.parametrize(
    ("left_on", "readers"), [("2026-06-10", {"office", "technician-rhea"}), ("2026-06-09", {"office"})]
)
def test_who_leaves_later_has_a_digest_until_then(database, tmp_path, left_on, readers) -> None:
    with database.writing() as store:
        actor = Actor("setup", "owner", None, MORNING)
        former = store.technicians.get("rhea")
        fleet.change_technician(store, actor, former, {"left_on": date.fromisoformat(left_on)})
    send(database, Digests(folder=tmp_path), MORNING)

    assert {path.stem.removeprefix("2026-06-09-") for path in tmp_path.glob("*.txt")} == readers


def test_after_hours_of_standstill_a_morning_is_over(database, tmp_path) -> None:
    send(database, Digests(folder=tmp_path), MORNING + timedelta(hours=8))

    assert not list(tmp_path.glob("*.txt"))


def test_what_is_posted_is_signed_and_repeated_with_the_same_id_until_it_is_taken(database, webhook) -> None:
    Receiver.statuses = [500, 302, 204, 204]
    to = Digests(webhook=webhook)
    for minutes in (0, 0.5, 2, 5):
        send(database, to, MORNING + timedelta(minutes=minutes))

    ids = [headers["webhook-id"] for headers, _ in Receiver.got]
    assert sorted(ids) == sorted(2 * ["digest-2026-06-09-office", "digest-2026-06-09-technician-rhea"])
    for headers, body in Receiver.got:
        signed = signature(SECRET, headers["webhook-id"], int(headers["webhook-timestamp"]), body)
        assert headers["webhook-signature"] == signed
    assert {orjson.loads(body)["data"]["for"] for _, body in Receiver.got} == {"office", "rhea"}


def test_a_technician_whose_code_is_office_has_a_digest_beside_the_office(database, tmp_path, webhook) -> None:
    with database.writing() as store:
        fleet.add_technician(store, Actor("setup", "owner", None, MORNING), {"code": "office", "name": "Office"})
    send(database, Digests(folder=tmp_path, webhook=webhook), MORNING)
    posted = [orjson.loads(body)["data"] for _, body in Receiver.got]

    assert {path.name for path in tmp_path.glob("*office.txt")} == {
        "2026-06-09-office.txt",
        "2026-06-09-technician-office.txt",
    }
    assert [(each["for"], each["technician"]) for each in posted if each["for"] == "office"] == [
        ("office", None),
        ("office", "office"),
    ]


def test_an_answer_in_drops_is_ended_at_the_deadline(monkeypatch) -> None:
    monkeypatch.setattr("service.scheduler.webhook.DEADLINE", 0.3)
    ended = threading.Event()
    with socket.create_server(("127.0.0.1", 0)) as server:

        def answer() -> None:
            connection, _ = server.accept()
            with connection, suppress(OSError):
                connection.recv(65536)
                while not ended.wait(0.05):
                    connection.sendall(b"H")
            ended.set()

        thread = threading.Thread(target=answer)
        thread.start()
        with pytest.raises(NotDelivered, match=r"no answer within 0\.3 s"):
            post(Webhook(f"http://127.0.0.1:{server.getsockname()[1]}/", SECRET, private=True), "a", 1, b"{}")
        thread.join(5)
        assert not thread.is_alive()
        ended.set()
        thread.join(5)


def test_a_name_that_is_not_found_in_time_is_not_waited_for(monkeypatch) -> None:
    monkeypatch.setattr("service.scheduler.webhook.DEADLINE", 0.1)
    found = threading.Event()
    monkeypatch.setattr("socket.getaddrinfo", lambda *_, **__: found.wait(10) and [])
    with pytest.raises(NotDelivered, match=r"no answer within 0\.1 s"):
        post(Webhook("https://hooks.example/", SECRET), "a", 1, b"{}")
    found.set()


def test_a_tls_connection_without_an_answer_is_ended_at_the_deadline(monkeypatch) -> None:
    monkeypatch.setattr("service.scheduler.webhook.DEADLINE", 0.5)
    monkeypatch.setattr("ssl.create_default_context", lambda: ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT))  # at once
    with socket.create_server(("127.0.0.1", 0)) as server:

        def receive() -> None:
            connection, _ = server.accept()
            with connection, suppress(OSError):
                while connection.recv(65536):
                    pass

        thread = threading.Thread(target=receive, daemon=True)
        thread.start()
        with pytest.raises(NotDelivered, match=r"no answer within 0\.5 s"):
            post(Webhook(f"https://127.0.0.1:{server.getsockname()[1]}/", SECRET, private=True), "a", 1, b"{}")
        thread.join(5)
        assert not thread.is_alive()


def test_what_was_given_up_is_not_posted_later(monkeypatch) -> None:
    monkeypatch.setattr("service.scheduler.webhook.DEADLINE", 0.1)
    found, look_up = threading.Event(), socket.getaddrinfo
    monkeypatch.setattr("socket.getaddrinfo", lambda *name, **more: found.wait(10) and look_up(*name, **more))
    with socket.socket() as server:
        server.bind(("127.0.0.1", 0))
        server.listen()
        server.settimeout(10)
        with pytest.raises(NotDelivered):
            post(Webhook(f"http://127.0.0.1:{server.getsockname()[1]}/", SECRET, private=True), "a", 1, b"{}")
        found.set()
        connection, _ = server.accept()
        with connection:
            connection.settimeout(10)
            assert connection.recv(65536) == b""


def test_who_is_left_when_the_time_of_a_turn_is_used_up_waits_for_the_next(database, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("service.scheduler.digests.BUDGET", -1.0)
    send(database, Digests(folder=tmp_path), MORNING)
    assert not list(tmp_path.glob("*.txt"))

    monkeypatch.undo()
    send(database, Digests(folder=tmp_path), MORNING + timedelta(minutes=1))
    assert len(list(tmp_path.glob("*.txt"))) == 2


def test_after_so_many_attempts_it_is_given_up(database, webhook) -> None:
    Receiver.statuses = [500] * 100
    to = Digests(webhook=webhook)
    for minutes in range(0, 300, 10):
        send(database, to, MORNING + timedelta(minutes=minutes))

    assert 2 <= len(Receiver.got) <= 2 * MOST_ATTEMPTS


def test_a_redirect_is_not_followed(webhook) -> None:
    Receiver.statuses = [307]
    with pytest.raises(NotDelivered, match="redirects are not followed"):
        post(webhook, "a", 1, b"{}")

    assert len(Receiver.got) == 1


def test_an_answer_that_does_not_end_is_not_waited_for() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:

        def answer() -> None:
            connection, _ = server.accept()
            with connection:
                connection.recv(65536)
                connection.sendall(b"HTTP/1.1 200 OK\r\nContent-Length: 100\r\n\r\nx")
                while connection.recv(65536):
                    pass

        thread = threading.Thread(target=answer)
        thread.start()
        post(Webhook(f"http://127.0.0.1:{server.getsockname()[1]}/", SECRET, private=True), "a", 1, b"{}")
        thread.join(5)
        assert not thread.is_alive()


LOCAL = ["127.0.0.1", "10.1.2.3", "169.254.169.254", "[::1]", "[::ffff:10.0.0.1]", "0.0.0.0", "224.0.0.1", "[ff02::1]"]
WITHIN = ["[64:ff9b::10.0.0.1]", "[2002:a00:1::1]", "[::127.0.0.1]", "[fec0::1]", "[fd00::1]", "100.64.0.1"]


@pytest.mark.parametrize("host", LOCAL + WITHIN)  # by the special-purpose address registries of IANA
def test_an_address_that_is_not_public_is_refused_unless_allowed(host: str) -> None:
    with pytest.raises(NotDelivered, match="not a public address"):
        post(Webhook(f"https://{host}/hook", SECRET), "a", 1, b"{}")


@pytest.mark.parametrize("url", ["https://hooks.example:99999/", "https://[::1/", f"https://{'a' * 64}.example/"])
def test_an_address_that_cannot_be_is_not_delivered_to(url: str) -> None:
    with pytest.raises(NotDelivered):
        post(Webhook(url, SECRET), "a", 1, b"{}")


def test_a_name_that_leads_inside_as_well_is_refused(monkeypatch) -> None:
    both = [(0, 0, 0, "", (each, 443)) for each in ("1.1.1.1", "10.0.0.1")]
    monkeypatch.setattr("socket.getaddrinfo", lambda *_, **__: both)
    with pytest.raises(NotDelivered, match=r"10\.0\.0\.1, which is not a public address"):
        post(Webhook("https://hooks.example/", SECRET), "a", 1, b"{}")


def test_without_tls_nothing_is_posted_unless_allowed() -> None:
    with pytest.raises(NotDelivered, match="https"):
        post(Webhook("http://hooks.example/", SECRET), "a", 1, b"{}")


def test_the_secret_is_never_shown() -> None:
    webhook = Webhook("https://hooks.example/", SECRET)
    settings = from_environment({"GLYCOL_FLEET_DIGEST_WEBHOOK": webhook.url, "GLYCOL_FLEET_DIGEST_SECRET": SECRET})

    assert SECRET not in repr(webhook) + repr(settings)
