"""WSGI (PEP 3333): a request as an environ, and the application's whole answer."""

import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from io import BytesIO
from typing import Any
from urllib.parse import unquote_to_bytes

from service.server.head import Head
from service.server.spool import ANSWER_IN_MEMORY, Budget, Spool

Environ = dict[str, Any]
Application = Callable[[Environ, Callable[..., Any]], Iterable[bytes]]
UNSENT = frozenset({b"content-length", b"transfer-encoding", b"host"})  # set from what was checked or counted


@dataclass(frozen=True, slots=True)
class Answer:
    """Status, headers and content of an answer."""

    status: int
    reason: str
    headers: list[tuple[str, str]]
    content: Spool

    def close(self) -> None:
        """Drop the content."""
        self.content.close()


def make_environ(
    head: Head, headers: Iterable[tuple[bytes, bytes]], *, server: tuple[str, int], address: str, scheme: str
) -> Environ:
    """The environ of a request whose body has not been read. A name with an underscore is left out: it would be taken
    for another one with a hyphen."""
    environ: Environ = {
        "REQUEST_METHOD": head.method,
        "SCRIPT_NAME": "",
        "PATH_INFO": unquote_to_bytes(head.path).decode("latin-1"),
        "QUERY_STRING": head.query.decode("latin-1"),
        "SERVER_NAME": server[0],
        "SERVER_PORT": str(server[1]),
        "SERVER_PROTOCOL": "HTTP/1.1",
        "REMOTE_ADDR": address,
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": scheme,
        "wsgi.input": BytesIO(),
        "wsgi.errors": sys.stderr,
        "wsgi.multithread": True,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
    }
    if head.host is not None:
        environ["HTTP_HOST"] = head.host
    if head.length is not None:
        environ["CONTENT_LENGTH"] = str(head.length)
    for name, value in headers:
        if name not in UNSENT and b"_" not in name:
            _add(environ, name, value.decode("latin-1"))
    return environ


def _add(environ: Environ, name: bytes, value: str) -> None:
    key = name.decode("ascii").upper().replace("-", "_")
    key = key if key == "CONTENT_TYPE" else f"HTTP_{key}"
    joint = "; " if key == "HTTP_COOKIE" else ", "
    environ[key] = f"{environ[key]}{joint}{value}" if key in environ else value


def call(application: Application, environ: Environ, budget: Budget) -> Answer:
    """Run the application to the end of its answer. Nothing is sent before, so a fault midway cuts off no answer."""
    started: list[tuple[str, list[tuple[str, str]]]] = []
    content = Spool(budget, ANSWER_IN_MEMORY)

    def start_response(status: str, headers: list[tuple[str, str]], _exc_info: Any = None) -> Callable[[bytes], Any]:
        started[:] = [(status, headers)]
        return content.write

    try:
        pieces = application(environ, start_response)
        try:
            for piece in pieces:
                content.write(piece)
        finally:
            if hasattr(pieces, "close"):
                pieces.close()
        content.rewind()
    except BaseException:
        content.close()
        raise
    status, headers = started[0]
    code, _, reason = status.partition(" ")
    return Answer(int(code), reason, headers, content)
