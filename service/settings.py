"""Settings of an installation, read once from the environment."""

import re
from base64 import b64decode
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from ipaddress import ip_network
from pathlib import Path
from typing import Any, TypeVar
from urllib.parse import urlsplit

from platformdirs import user_data_path

PREFIX = "GLYCOL_FLEET_"
FILE_NAME = "glycol-fleet.sqlite3"
LOG_LEVELS = ("DEBUG", "INFO", "WARNING", "ERROR")
SHORTEST_SECRET = 24
MIB = 1024 * 1024
NONE: tuple[str, ...] = ()
T = TypeVar("T")


class SettingsError(ValueError):
    """One or more environment variables are invalid; the message has a line for each."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Settings; sizes in bytes. The database address may hold a password and is never shown."""

    database_url: str = field(repr=False)
    home: Path
    host: str = "127.0.0.1"
    port: int = 8410
    threads: int = 8
    max_body: int = 2 * MIB
    max_import: int = 64 * MIB
    log_level: str = "INFO"
    max_header: int = 16 * 1024
    max_header_fields: int = 100
    header_seconds: float = 10
    body_seconds: float = 30
    body_rate: int = 8 * 1024
    idle_seconds: float = 15
    stall_seconds: float = 20
    grace_seconds: float = 10
    max_connections: int = 500
    max_connections_per_address: int = 32
    queue: int = 64
    body_memory: int = 256 * MIB
    allowed_hosts: tuple[str, ...] = ()
    trusted_proxies: tuple[str, ...] = ()
    tls_certificate: Path | None = None
    tls_key: Path | None = None
    tls_handshake_seconds: float = 5
    failed_tokens: int = 10
    backup_folder: Path | None = None
    backup_keep: int = 14
    photo_folder: Path | None = None
    digest_folder: Path | None = None
    digest_webhook: str | None = None
    digest_secret: str | None = field(default=None, repr=False)
    digest_private: int = 0
    digest_at: str = "06:00"


def from_environment(environ: Mapping[str, str]) -> Settings:
    """Read every `GLYCOL_FLEET_` variable; an empty one counts as not given.

    Raises SettingsError with all that is wrong at once.
    """
    reader = Reader(environ)
    home = reader.read("HOME", user_data_path("glycol-fleet"), _folder)
    settings = Settings(
        database_url=reader.read("DATABASE_URL", f"sqlite:///{home / FILE_NAME}", _address),
        home=home,
        **_of_server(reader),
        host=reader.read("HOST", "127.0.0.1", _host),
        port=reader.read("PORT", 8410, _whole(0, 65535)),
        threads=reader.read("THREADS", 8, _whole(1, 64)),
        max_body=reader.read("MAX_BODY", 2 * MIB, _whole(1024, 1024 * MIB)),
        max_import=reader.read("MAX_IMPORT", 64 * MIB, _whole(1024, 1024 * MIB)),
        log_level=reader.read("LOG_LEVEL", "INFO", _log_level),
        failed_tokens=reader.read("FAILED_TOKENS", 10, _whole(1, 10_000)),
        backup_folder=reader.read("BACKUP_FOLDER", None, _folder),
        backup_keep=reader.read("BACKUP_KEEP", 14, _whole(1, 10_000)),
        photo_folder=reader.read("PHOTO_FOLDER", None, _folder),
        **_of_digests(reader),
    )
    if (settings.tls_certificate is None) != (settings.tls_key is None):
        reader.refusals.append(f"{PREFIX}TLS_CERTIFICATE and {PREFIX}TLS_KEY: one is set without the other")
    if settings.digest_webhook is not None and settings.digest_secret is None:
        reader.refusals.append(f"{PREFIX}DIGEST_WEBHOOK needs {PREFIX}DIGEST_SECRET to sign with")
    if (settings.digest_webhook or "").startswith("http://") and not settings.digest_private:
        reader.refusals.append(f"{PREFIX}DIGEST_WEBHOOK needs https, or {PREFIX}DIGEST_PRIVATE=1")
    if reader.refusals:
        raise SettingsError("\n".join(reader.refusals))
    return settings


def _of_server(reader: "Reader") -> dict[str, Any]:
    """The limits of the HTTP server, and what it trusts."""
    most = 24 * 3600
    return {
        "max_header": reader.read("MAX_HEADER", 16 * 1024, _whole(1024, MIB)),
        "max_header_fields": reader.read("MAX_HEADER_FIELDS", 100, _whole(10, 1000)),
        "header_seconds": reader.read("HEADER_SECONDS", 10, _whole(1, most)),
        "body_seconds": reader.read("BODY_SECONDS", 30, _whole(1, most)),
        "body_rate": reader.read("BODY_RATE", 8 * 1024, _whole(1, 1024 * MIB)),
        "idle_seconds": reader.read("IDLE_SECONDS", 15, _whole(1, most)),
        "stall_seconds": reader.read("STALL_SECONDS", 20, _whole(1, most)),
        "grace_seconds": reader.read("GRACE_SECONDS", 10, _whole(0, most)),
        "max_connections": reader.read("MAX_CONNECTIONS", 500, _whole(1, 100_000)),
        "max_connections_per_address": reader.read("MAX_CONNECTIONS_PER_ADDRESS", 32, _whole(1, 100_000)),
        "queue": reader.read("QUEUE", 64, _whole(0, 100_000)),
        "body_memory": reader.read("BODY_MEMORY", 256 * MIB, _whole(MIB, 1024 * 1024 * MIB)),
        "allowed_hosts": reader.read("ALLOWED_HOSTS", NONE, _listed(_host)),
        "trusted_proxies": reader.read("TRUSTED_PROXIES", NONE, _listed(_network)),
        "tls_certificate": reader.read("TLS_CERTIFICATE", None, _file),
        "tls_key": reader.read("TLS_KEY", None, _file),
        "tls_handshake_seconds": reader.read("TLS_HANDSHAKE_SECONDS", 5, _whole(1, most)),
    }


def _of_digests(reader: "Reader") -> dict[str, Any]:
    """Where the morning digests go; nowhere by default."""
    return {
        "digest_folder": reader.read("DIGEST_FOLDER", None, _folder),
        "digest_webhook": reader.read("DIGEST_WEBHOOK", None, _web_address),
        "digest_secret": reader.read("DIGEST_SECRET", None, _secret),
        "digest_private": reader.read("DIGEST_PRIVATE", 0, _whole(0, 1)),
        "digest_at": reader.read("DIGEST_AT", "06:00", _clock),
    }


class Reader:
    """Reads variables one by one and collects the errors."""

    def __init__(self, environ: Mapping[str, str]) -> None:
        self.environ = environ
        self.refusals: list[str] = []

    def read(self, name: str, default: T, parse: Callable[[str], T]) -> T:
        """The parsed value, or the default where the variable is not set or invalid."""
        given = self.environ.get(PREFIX + name, "").strip()
        if not given:
            return default
        try:
            return parse(given)
        except ValueError as refusal:
            self.refusals.append(f"{PREFIX}{name}: {refusal}")
            return default


def _folder(text: str) -> Path:
    return Path(text).expanduser().absolute()


def _address(text: str) -> str:
    if "://" not in text:
        # The text is not repeated: it may hold a password.
        raise ValueError("not a database address, such as sqlite:////srv/fleet.sqlite3 or postgresql://host/name")
    return text


def _host(text: str) -> str:
    if any(character.isspace() for character in text):
        raise ValueError(f"{text!r} is not a host name or address")
    return text


def _listed(parse: Callable[[str], str]) -> Callable[[str], tuple[str, ...]]:
    return lambda text: tuple(parse(part.strip()) for part in text.split(",") if part.strip())


def _network(text: str) -> str:
    return str(ip_network(text))


def _file(text: str) -> Path:
    path = Path(text).expanduser().absolute()
    if not path.is_file():
        raise ValueError(f"{path} is not a file")
    return path


def _whole(low: int, high: int) -> Callable[[str], int]:
    def parse(text: str) -> int:
        if not (text.isascii() and text.isdigit() and low <= int(text) <= high):
            raise ValueError(f"{text!r} is not a whole number from {low} to {high}")
        return int(text)

    return parse


def _web_address(text: str) -> str:
    """The address, which is not repeated in a refusal: its path may be a secret."""
    example = "such as https://hooks.example/digest"
    if re.fullmatch("https?://[!-~]+", text) is None:
        raise ValueError(f"not a web address, {example}")
    try:
        parts = urlsplit(text)
        known = bool(parts.hostname) and parts.port != 0
    except ValueError:
        known = False
    if not known or parts.username is not None:
        raise ValueError(f"not a web address with host, port and path alone, {example}")
    return text


def _secret(text: str) -> str:
    """The secret, which is not repeated in a refusal."""
    if len(text) < SHORTEST_SECRET:
        raise ValueError(f"shorter than {SHORTEST_SECRET} characters")
    if text.startswith("whsec_"):
        try:
            b64decode(text.removeprefix("whsec_"), validate=True)
        except ValueError:
            raise ValueError("what is behind whsec_ is not Base64") from None
    return text


def _clock(text: str) -> str:
    if re.fullmatch("(?:[01][0-9]|2[0-3]):[0-5][0-9]", text) is None:
        raise ValueError(f"{text!r} is not a time of day, such as 06:00")
    return text


def _log_level(text: str) -> str:
    if text.upper() not in LOG_LEVELS:
        raise ValueError(f"{text!r} is none of {', '.join(LOG_LEVELS)}")
    return text.upper()
