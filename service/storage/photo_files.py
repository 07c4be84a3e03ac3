"""The files of photos: in one folder, each named by the SHA-256 (FIPS 180-4) of its bytes, never changed."""

import os
from collections.abc import Iterable
from hashlib import sha256
from pathlib import Path
from uuid import uuid4

from service.domain.errors import Unavailable
from service.storage.engine.sqlite_copy import sync

PRIVATE_FILE, PRIVATE_FOLDER = 0o600, 0o700


def folder_of(url: str, home: Path) -> Path:
    """Where photos are unless a setting names a folder: beside a SQLite file, otherwise in the program's own folder."""
    path = url.removeprefix("sqlite:///")
    return home / "photos" if path == url else beside(Path(path).absolute())


def beside(database: Path) -> Path:
    """The folder that belongs to a SQLite file."""
    return database.with_name(f"{database.name}-photos")


class PhotoFiles:
    """The photos in a folder. Raises Unavailable where one cannot be read or kept just now."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def begin(self) -> None:
        """Make the folder where there is none yet."""
        try:
            if not self.folder.is_dir():
                self.folder.mkdir(PRIVATE_FOLDER, parents=True, exist_ok=True)
                sync(self.folder.parent)
        except OSError as fault:
            raise Unavailable(f"the folder of photos {self.folder} cannot be made: {fault.strerror}") from fault

    def check(self) -> None:
        """Unavailable when the folder is not there, or nothing can be written into it."""
        if not self.folder.is_dir():
            raise Unavailable(f"the folder of photos {self.folder} is not there; put it back, or restore a backup")
        if not os.access(self.folder, os.R_OK | os.W_OK | os.X_OK):
            raise Unavailable(f"the folder of photos {self.folder} cannot be written to")

    def keep(self, content: bytes) -> str:
        """Write a photo, whole and on the disk before it has its name; its name.

        One that is there is left as it is, a damaged one is replaced.
        """
        name = sha256(content).hexdigest()
        path, part = self._path(name), self.folder / f".{name}-{uuid4().hex}.part"
        try:
            if not (path.is_file() and path.read_bytes() == content):
                self._write(part, content)
                part.replace(path)
            sync(self.folder)
        except OSError as fault:
            raise Unavailable(f"the photo cannot be kept in {self.folder}: {fault.strerror}") from fault
        finally:
            part.unlink(missing_ok=True)
        return name

    def read(self, name: str) -> bytes:
        """The bytes of a photo."""
        try:
            return self._path(name).read_bytes()
        except OSError as fault:
            raise Unavailable(f"the file of the photo cannot be read from {self.folder}: {fault.strerror}") from fault

    def add_from(self, source: "PhotoFiles", names: Iterable[str], *, whole: bool = False) -> tuple[int, list[str]]:
        """Copy what is missing here; how many were copied, and which are missing or damaged in the source.

        With `whole` what is here is read, and counts as missing where it is damaged.
        """
        copied, lost = 0, []
        for name in names:
            if self._path(name).is_file() and not (whole and self._damaged(name)):
                continue
            try:
                content = source.read(name)
            except Unavailable:
                lost.append(name)  # reported by the caller
                continue
            if sha256(content).hexdigest() != name:
                lost.append(name)
                continue
            self.begin()
            self.keep(content)
            copied += 1
        return copied, lost

    def _damaged(self, name: str) -> bool:
        return sha256(self.read(name)).hexdigest() != name

    def _path(self, name: str) -> Path:
        return self.folder / f"{name}.jpg"

    @staticmethod
    def _write(path: Path, content: bytes) -> None:
        file = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0), PRIVATE_FILE)
        with os.fdopen(file, "wb") as opened:
            opened.write(content)
            opened.flush()
            os.fsync(opened.fileno())
