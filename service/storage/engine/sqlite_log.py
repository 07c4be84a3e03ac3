"""The count of commits that ties a log to its database file, and the check that a log is that of the file beside it.

Every transaction adds one to `user_version`, which is on page 1. So page 1 is in the first transaction of each log, and
the file's own log holds the count of the file: the one before its first transaction, or one that a checkpoint has
copied into the file. A new database and every copy begin at a random count, so that a log is taken for that of another
file with a probability of its transactions in 4 000 000 000. If the counts match, every page that the log lacks is in
the file, and SQLite may apply the log. Formats: https://www.sqlite.org/fileformat2.html.
"""

import secrets
from collections.abc import Callable, Iterator
from pathlib import Path
from struct import Struct, iter_unpack, unpack
from time import monotonic, sleep
from typing import Any, BinaryIO

from service.storage.engine.faults import Refused

TURN_AGAIN = 0.01  # [s]
LOWEST = 1 << 24  # a database that was given a random count has no smaller one
MASK = 0xFFFFFFFF
COUNT_AT = 60  # offset of user_version on page 1
WAL_HEADER, WAL_FRAME = Struct(">IIIIIIII"), Struct(">IIIIII")
WAL_MAGIC = {0x377F0682: "<II", 0x377F0683: ">II"}  # and the byte order of its checksums
JOURNAL_HEADER = Struct(">8sIIIII")
JOURNAL_MAGIC = bytes.fromhex("d9d505f920a163d7")
Execute = Callable[[str], Any]


def count_commit(execute: Execute) -> None:
    """Add one to the count, inside a writing transaction."""
    (count,) = execute("PRAGMA user_version").fetchone()
    set_count(execute, count + 1)


def set_count(execute: Execute, count: int) -> None:
    """Set the count; SQLite keeps it as a signed number of 32 bits."""
    count &= MASK
    execute(f"PRAGMA user_version={count - (1 << 32) if count >> 31 else count}")


def random_count() -> int:
    """A count for a new database or a copy."""
    return LOWEST + secrets.randbelow(MASK - 2 * LOWEST)


def give_random_count(execute: Execute) -> None:
    """Give a file that has none its random count, without a log; an error while another process has it open."""
    (count,) = execute("PRAGMA user_version").fetchone()
    if 0 <= count < LOWEST:
        execute("PRAGMA journal_mode=DELETE")
        execute("PRAGMA synchronous=EXTRA")
        set_count(execute, random_count())


def check(path: Path) -> None:
    """Refuse a log that is not the file's own, before SQLite applies it. Only while no process has the file open.

    A log with another program's transactions alone, which may lack page 1, passes.
    """
    log, journal = (path.with_name(path.name + end) for end in ("-wal", "-journal"))
    count = _count_of(path)
    if _size(log) and not _is_own(_log_counts(log), count):
        raise Refused(_refusal(path, log, there=count is not None))
    if _size(journal) and not _is_own(_journal_counts(journal), count):
        raise Refused(_refusal(path, journal, there=count is not None))


def _refusal(path: Path, log: Path, *, there: bool) -> str:
    where = f"the log of {path}" if there else f"of use without its database {path}"
    return (
        f"{log} is not {where}: to go back to a backup run glycol-fleet restore FILE, which sets both aside; "
        f"to serve the database without this log, move {log.name} to another folder"
    )


def _is_own(counts: set[int] | None, count: int | None) -> bool:
    """Whether a log that begins and ends with these counts is that of a file; None for a log that changes nothing."""
    return counts is None or count in counts


def _count_of(path: Path) -> int | None:
    """The file's count, None without a file."""
    if not _size(path):
        return None
    with path.open("rb") as file:
        return _count_at(file, 0)


def _count_at(file: BinaryIO, start: int) -> int | None:
    file.seek(start + COUNT_AT)
    found = file.read(4)
    return int.from_bytes(found, "big") if len(found) == 4 else None


def _log_counts(log: Path) -> set[int] | None:
    """The counts of the file whose write-ahead log this is; None when nothing would be applied, or it lacks page 1."""
    with log.open("rb") as file:
        header = file.read(WAL_HEADER.size)
        if len(header) < WAL_HEADER.size or WAL_HEADER.unpack(header)[0] not in WAL_MAGIC:
            return None
        counts = [count for count, _ in _frames(file, header) if count is not None]
        if not counts or not _first_transaction_is_whole(file, header):
            return None
    return {(counts[0] - 1) & MASK, *counts}


def _frames(file: BinaryIO, header: bytes) -> Iterator[tuple[int | None, bool]]:
    """Of each frame of this log: the count on page 1, None for other pages; and whether a transaction ends with it."""
    _, _, page_size, _, *salts, _, _ = WAL_HEADER.unpack(header)
    start = WAL_HEADER.size
    while True:
        file.seek(start)
        frame = file.read(WAL_FRAME.size)
        if len(frame) < WAL_FRAME.size or list(WAL_FRAME.unpack(frame)[2:4]) != salts:
            return
        page, size = WAL_FRAME.unpack(frame)[:2]
        yield _count_at(file, start + WAL_FRAME.size) if page == 1 else None, size > 0
        start += WAL_FRAME.size + page_size


def _first_transaction_is_whole(file: BinaryIO, header: bytes) -> bool:
    """Whether the checksums hold up to the first commit; otherwise SQLite applies nothing."""
    magic, _, page_size, *_ = WAL_HEADER.unpack(header)
    order = WAL_MAGIC[magic]
    sums = _add_up(header[:24], (0, 0), order)
    if sums != unpack(">II", header[24:]):
        return False
    for number, (_, ends) in enumerate(_frames(file, header)):
        file.seek(WAL_HEADER.size + number * (WAL_FRAME.size + page_size))
        frame = file.read(WAL_FRAME.size + page_size)
        if len(frame) < WAL_FRAME.size + page_size:
            return False
        sums = _add_up(frame[WAL_FRAME.size :], _add_up(frame[:8], sums, order), order)
        if sums != unpack(">II", frame[16:24]):
            return False
        if ends:
            return True
    return False


def _add_up(data: bytes, sums: tuple[int, int], order: str) -> tuple[int, int]:
    first, second = sums
    for one, other in iter_unpack(order, data):
        first = (first + one + second) & MASK
        second = (second + other + first) & MASK
    return first, second


def _journal_counts(journal: Path) -> set[int] | None:
    """The counts of the file whose rollback journal this is: before the transaction, and after it."""
    with journal.open("rb") as file:
        header = file.read(JOURNAL_HEADER.size)
        if len(header) < JOURNAL_HEADER.size or not header.startswith(JOURNAL_MAGIC):
            return None
        _, records, nonce, pages, sector, page_size = JOURNAL_HEADER.unpack(header)
        if not pages:
            return None
        before = _first_page_before(file, records, nonce, sector, page_size)
    if before is None or before < LOWEST:  # the transaction that gave the random count
        return None
    return {before, (before + 1) & MASK}


def _first_page_before(file: BinaryIO, records: int, nonce: int, sector: int, page_size: int) -> int | None:
    """The count on page 1 as the transaction found it, None when the journal does not hold it whole."""
    length = page_size + 8
    for number in range(records):
        file.seek(sector + number * length)
        record = file.read(length)
        if len(record) < length:
            return None
        data = record[4:-4]
        checked = (nonce + sum(data[at] for at in range(page_size - 200, 0, -200))) & MASK
        if checked != int.from_bytes(record[-4:], "big"):
            return None
        if int.from_bytes(record[:4], "big") == 1:
            return int.from_bytes(data[COUNT_AT : COUNT_AT + 4], "big")
    return None


def _size(path: Path) -> int:
    return path.stat().st_size if path.is_file() else 0


def keep(connection: Any, mode: str, patience: float) -> str:
    """Have the file kept in a journal mode; the one in which it is kept then.

    SQLite does not wait for a lock by itself where several connections turn a new file at once.
    """
    deadline = monotonic() + patience
    while True:
        try:
            (kept,) = connection.execute(f"PRAGMA journal_mode={mode}").fetchone()
        except connection.OperationalError as failure:
            if "locked" not in str(failure) or monotonic() > deadline:
                raise
            sleep(TURN_AGAIN)
        else:
            return str(kept)
