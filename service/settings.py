"""Settings of an installation, read once from the environment."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from platformdirs import user_data_path

PREFIX = "GLYCOL_FLEET_"
FILE_NAME = "glycol-fleet.sqlite3"
LOG_LEVELS = ("DEBUG", "INFO", "WARNING", "ERROR")
MIB = 1024 * 1024
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
    failed_tokens: int = 10
    backup_folder: Path | None = None
    backup_keep: int = 14


def from_environment(environ: Mapping[str, str]) -> Settings:
    """Read every `GLYCOL_FLEET_` variable; an empty one counts as not given.

    Raises SettingsError with all that is wrong at once.
    """
    reader = Reader(environ)
    home = reader.read("HOME", user_data_path("glycol-fleet"), _folder)
    settings = Settings(
        database_url=reader.read("DATABASE_URL", f"sqlite:///{home / FILE_NAME}", _address),
        home=home,
        host=reader.read("HOST", "127.0.0.1", _host),
        port=reader.read("PORT", 8410, _whole(0, 65535)),
        threads=reader.read("THREADS", 8, _whole(1, 64)),
        max_body=reader.read("MAX_BODY", 2 * MIB, _whole(1024, 1024 * MIB)),
        max_import=reader.read("MAX_IMPORT", 64 * MIB, _whole(1024, 1024 * MIB)),
        log_level=reader.read("LOG_LEVEL", "INFO", _log_level),
        failed_tokens=reader.read("FAILED_TOKENS", 10, _whole(1, 10_000)),
        backup_folder=reader.read("BACKUP_FOLDER", None, _folder),
        backup_keep=reader.read("BACKUP_KEEP", 14, _whole(1, 10_000)),
    )
    if reader.refusals:
        raise SettingsError("\n".join(reader.refusals))
    return settings


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


def _whole(low: int, high: int) -> Callable[[str], int]:
    def parse(text: str) -> int:
        if not (text.isascii() and text.isdigit() and low <= int(text) <= high):
            raise ValueError(f"{text!r} is not a whole number from {low} to {high}")
        return int(text)

    return parse


def _log_level(text: str) -> str:
    if text.upper() not in LOG_LEVELS:
        raise ValueError(f"{text!r} is none of {', '.join(LOG_LEVELS)}")
    return text.upper()
