"""What a disk holds after a power cut: what was synced, and of the rest any part.

Of writes after a file's last sync any sectors may be there, of names after the folder's last sync any that do not need
another. This is more than file systems with a journal leave; POSIX promises no more. A sector of 512 bytes is written
whole or not at all, as SQLite assumes (https://www.sqlite.org/atomiccommit.html, section 2.0, and
https://www.sqlite.org/psow.html). After a failed sync what it did not write is never written, though it can be read
(https://www.postgresql.org/docs/current/wal-reliability.html and the pages on fsync that it follows).
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from struct import Struct
from typing import NamedTuple

SECTOR = 512  # [B]
HEAD = Struct("<cQQI")


class Record(NamedTuple):
    """One operation, as `shim.c` describes it."""

    kind: bytes
    inode: int
    offset: int
    data: bytes


def records(log: bytes) -> Iterator[Record]:
    """The operations of a log, in order."""
    at = 0
    while at < len(log):
        kind, inode, offset, length = HEAD.unpack_from(log, at)
        at += HEAD.size
        yield Record(kind, inode, offset, log[at : at + length])
        at += length


@dataclass
class File:
    """What is on the disk, and what was done since."""

    synced: bytearray = field(default_factory=bytearray)
    later: list[Record] = field(default_factory=list)

    def sync(self) -> None:
        """All of it is on the disk now."""
        self.synced = self.content()
        self.later = []

    def fail_to_sync(self, random: Random) -> None:
        """Some of it is on the disk, and the rest never will be."""
        self.synced = self.after_a_cut(random)
        self.later = []

    def content(self) -> bytearray:
        """What a reader gets while there is power."""
        content = bytearray(self.synced)
        for record in self.later:
            _change(content, record)
        return content

    def after_a_cut(self, random: Random) -> bytearray:
        """What may be left."""
        content, size = bytearray(self.synced), len(self.synced)
        share = random.choice((0.0, 1.0, random.random()))
        in_order = random.random() < 0.3
        for record in self.later:
            for part in _parts(record):
                if random.random() < share:
                    _change(content, part)
                elif in_order:
                    return content
        if share and len(content) > size and random.random() < 0.3:
            self._fill(content, size, random)
        return content

    def _fill(self, content: bytearray, size: int, random: Random) -> None:
        """The file has grown, and sectors that were not written there hold what was on the disk before."""
        for at in range(-(-size // SECTOR) * SECTOR, len(content), SECTOR):
            if not any(content[at : at + SECTOR]):
                content[at : at + SECTOR] = random.randbytes(min(SECTOR, len(content) - at))


def _parts(record: Record) -> Iterator[Record]:
    """A write by sectors."""
    if record.kind != b"W":
        yield record
        return
    start, end = record.offset, record.offset + len(record.data)
    while start < end:
        stop = min(end, (start // SECTOR + 1) * SECTOR)
        yield record._replace(offset=start, data=record.data[start - record.offset : stop - record.offset])
        start = stop


def _change(content: bytearray, record: Record) -> None:
    if record.kind == b"T":
        del content[record.offset :]
        content.extend(bytes(record.offset - len(content)))
        return
    content.extend(bytes(max(0, record.offset - len(content))))
    content[record.offset : record.offset + len(record.data)] = record.data


Start = dict[str, tuple[int, bytes]]  # files with which a recording begins, and their inodes


def start_of(folder: Path) -> Start:
    """The files of a folder, all on the disk."""
    return {path.name: (path.stat().st_ino, path.read_bytes()) for path in folder.iterdir()}


class Change(NamedTuple):
    """A name that was given, taken or changed."""

    kind: bytes
    names: tuple[str, ...]
    file: File | None

    def make(self, names: dict[str, File]) -> None:
        """Do it."""
        if self.file:
            names[self.names[0]] = self.file
        elif self.kind == b"U":
            names.pop(self.names[0], None)
        else:
            names[self.names[1]] = names.pop(self.names[0])


class Disk:
    """One folder: its names and files as they are, and as they were when it was synced."""

    def __init__(self, start: Start, random: Random) -> None:
        self.random = random
        self.files: dict[int, File] = {}
        self.names: dict[str, File] = {}
        self.changes: list[Change] = []
        for name, (inode, content) in start.items():
            self.names[name] = self.files[inode] = File(bytearray(content))
        self.synced_names = dict(self.names)

    def do(self, record: Record) -> None:
        """One operation; what it cannot take is an error, so that no state lacks it."""
        if record.kind in (b"W", b"T"):
            self.files[record.inode].later.append(record)
        elif record.kind == b"S":
            self.files[record.inode].sync()
        elif record.kind == b"F":
            self.files[record.inode].fail_to_sync(self.random)
        elif record.kind == b"D":
            self.synced_names, self.changes = dict(self.names), []
        elif record.kind in (b"C", b"U", b"R"):
            self._change_names(record)
        elif record.kind != b"A":
            raise ValueError(f"the model of a disk lacks {record}")

    def _change_names(self, record: Record) -> None:
        names = tuple(Path(name).name for name in record.data.decode().split("\0"))
        file = File() if record.kind == b"C" else None
        if file:
            self.files[record.inode] = file
        self.changes.append(Change(record.kind, names, file))
        self.changes[-1].make(self.names)

    def content(self) -> dict[str, bytearray]:
        """Every file as a reader gets it while there is power."""
        return {name: file.content() for name, file in self.names.items()}

    def after_a_cut(self) -> dict[str, bytearray]:
        """Every file that may be left, and what may be in it."""
        names, missing = dict(self.synced_names), set[str]()
        share, in_order = self.random.choice((0.0, 1.0, self.random.random())), self.random.random() < 0.5
        for change in self.changes:
            if missing.intersection(change.names) or self.random.random() >= share:
                if in_order:
                    break
                missing.update(change.names)
            else:
                change.make(names)
        return {name: file.after_a_cut(self.random) for name, file in names.items()}
