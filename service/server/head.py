"""Checks the bytes of a request's head before the parser sees them: what parsers read differently is refused.

RFC 9112: line ends (2.2), folding (5.2), Host (3.2), Transfer-Encoding and Content-Length (6.1, 6.3).
"""

import re
from dataclasses import dataclass

from service.api.errors import HEADER_TOO_LARGE, MALFORMED, VERSION
from service.server.refusals import Refusal

END = b"\r\n\r\n"
# Control characters, an end of line that is not CR LF, a line that continues the one before.
FORBIDDEN = re.compile(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]|(?<!\r)\n|\r(?=[^\n])|\n[ \t]")
TOKEN = re.compile(rb"[!#$%&'*+.^_`|~0-9A-Za-z-]+")
REQUEST_LINE = re.compile(rb"([!#$%&'*+.^_`|~0-9A-Za-z-]{1,40}) ([\x21-\x7e]+) HTTP/([0-9])\.([0-9])")
ABSOLUTE = re.compile(rb"(?i:https?)://([^/?]*)(.*)")
HOST = re.compile(rb"(\[[0-9A-Fa-f:.]{2,45}\]|[A-Za-z0-9._~!$&'()*+,;=%-]{1,255})(?::[0-9]{0,5})?")
LENGTH = re.compile(rb"[0-9]{1,18}")


@dataclass(frozen=True, slots=True)
class Head:
    """A head that was found good; `length` is None without Content-Length, `host` without Host (HTTP/1.0)."""

    raw: bytes
    method: str
    path: bytes
    query: bytes
    host: str | None
    length: int | None
    chunked: bool

    @property
    def has_body(self) -> bool:
        """Whether bytes follow."""
        return self.chunked or bool(self.length)


def end_of_head(received: bytearray, checked: int, most: int) -> int:
    """Where the head ends in what was received, -1 while it goes on; `checked` bytes were looked at before.

    Raises Refusal as soon as a byte is wrong or there are more than `most`.
    """
    found = received.find(END, max(0, checked - len(END) + 1))
    end = found + len(END) if found >= 0 else len(received)
    if end > most:
        raise Refusal(HEADER_TOO_LARGE, f"The header has more than {most} bytes.")
    if FORBIDDEN.search(received, max(0, checked - 2), end):
        raise Refusal(MALFORMED, "The header holds a control character, a line end other than CR LF or a folded line.")
    return end if found >= 0 else -1


def read_head(raw: bytes, most_fields: int) -> Head:
    """The head in these bytes, which end with an empty line; Refusal when something in it is wrong."""
    first, *lines = raw[: -len(END)].split(b"\r\n")
    method, target, version = _request_line(first)
    if len(lines) > most_fields:
        raise Refusal(HEADER_TOO_LARGE, f"The header has more than {most_fields} fields.")
    fields = _fields(lines)
    host = _host(fields.get(b"host", []), required=version == (1, 1))
    authority, path, query = _parts(target, method)
    length, chunked = _framing(fields, version)
    return Head(raw, method.decode(), path, query, authority or host, length, chunked)


def _request_line(line: bytes) -> tuple[bytes, bytes, tuple[int, int]]:
    found = REQUEST_LINE.fullmatch(line)
    if found is None:
        raise Refusal(MALFORMED, "The first line is not a method, a path and an HTTP version.")
    version = int(found[3]), int(found[4])
    if version not in ((1, 0), (1, 1)):
        raise Refusal(VERSION)
    return found[1], found[2], version


def _fields(lines: list[bytes]) -> dict[bytes, list[bytes]]:
    fields: dict[bytes, list[bytes]] = {}
    for line in lines:
        name, colon, value = line.partition(b":")
        if not (colon and TOKEN.fullmatch(name)):
            raise Refusal(MALFORMED, "A line of the header is not a name, a colon and a value.")
        fields.setdefault(name.lower(), []).append(value.strip(b" \t"))
    return fields


def _host(given: list[bytes], *, required: bool) -> str | None:
    if not given and not required:
        return None
    if len(given) != 1:
        raise Refusal(MALFORMED, "A request has exactly one header Host.")
    return _authority(given[0])


def _authority(text: bytes) -> str:
    if HOST.fullmatch(text) is None:
        raise Refusal(MALFORMED, "The host is not a name or an address, with or without a port.")
    return text.decode("ascii")


def _parts(target: bytes, method: bytes) -> tuple[str | None, bytes, bytes]:
    """Host (of an absolute target only), path and query."""
    host = None
    if found := ABSOLUTE.fullmatch(target):
        host, target = _authority(found[1]), found[2]
        target = target if target.startswith(b"/") else b"/" + target
    if not (target.startswith(b"/") or (target == b"*" and method == b"OPTIONS")) or b"#" in target:
        raise Refusal(MALFORMED, "The target of the request is not a path.")
    path, _, query = target.partition(b"?")
    return host, path, query


def _framing(fields: dict[bytes, list[bytes]], version: tuple[int, int]) -> tuple[int | None, bool]:
    """Content-Length, and whether the body comes in chunks; never both."""
    lengths, codings = fields.get(b"content-length", []), fields.get(b"transfer-encoding", [])
    if codings:
        if lengths or version == (1, 0):
            raise Refusal(MALFORMED, "Transfer-Encoding is given with Content-Length, or in HTTP/1.0.")
        if [coding.lower() for coding in codings] != [b"chunked"]:
            raise Refusal(MALFORMED, "The only transfer coding accepted is chunked.")
        return None, True
    if len(lengths) > 1 or (lengths and LENGTH.fullmatch(lengths[0]) is None):
        raise Refusal(MALFORMED, "Content-Length is not one whole number of at most 18 digits.")
    return (int(lengths[0]) if lengths else None), False
