"""Database errors as the product's own exceptions and messages: the one place where driver errors are translated."""

import re
from types import TracebackType

from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolExhausted

from service.domain.errors import Conflict, DomainError, Unavailable


class Refused(Exception):
    """The database must not be opened as it is; the message is one line for the operator."""


LOCKED = "The database is busy with another writer."
HELD = "The records are being moved to another database and can only be read meanwhile; send it again in a minute."
FULL = "The disk that holds the database is full."
READ_ONLY = "The database can only be read just now."
DISK = "The disk that holds the database does not answer as it should."
DAMAGED = "The database file is damaged; restore a backup."
NO_ANSWER = "The database does not answer."
NO_RIGHTS = "The role in the database's address lacks rights there: make it the owner of the database."
CROWDED = "All connections to the database are in use."
DANGLING = "It refers to something that is not recorded, or is itself still referred to."

# Primary result codes of SQLite: https://www.sqlite.org/rescode.html
_SQLITE = {5: LOCKED, 6: LOCKED, 8: READ_ONLY, 10: DISK, 11: DAMAGED, 13: FULL, 14: DISK, 15: LOCKED, 26: DAMAGED}
_SQLITE_CONSTRAINT = 19

# SQLSTATE codes and classes of PostgreSQL: its manual, appendix A
_POSTGRES = {
    "08": NO_ANSWER, "25006": READ_ONLY, "40": LOCKED, "42501": NO_RIGHTS, "53100": FULL, "53": CROWDED,
    "55P03": LOCKED, "57": NO_ANSWER, "58": DISK, "XX001": DAMAGED, "XX002": DAMAGED,
}  # fmt: skip


def translated(error: BaseException) -> DomainError | None:
    """The product's word for a driver's error (plain or wrapped by SQLAlchemy); None for a mistake of our own."""
    if isinstance(error, PoolExhausted):
        return Unavailable(CROWDED)
    original = error.orig if isinstance(error, DBAPIError) else error
    code = getattr(original, "sqlite_errorcode", None)
    if code is not None:
        return _from_sqlite(code, str(original))
    if hasattr(original, "sqlstate"):
        return _from_postgres(original)
    return None


def _from_sqlite(code: int, text: str) -> DomainError | None:
    if code & 0xFF == _SQLITE_CONSTRAINT:
        return _broken_constraint(text)
    sentence = _SQLITE.get(code & 0xFF)
    return Unavailable(sentence) if sentence else None


def _broken_constraint(text: str) -> Conflict | None:
    # by the text, "UNIQUE constraint failed: unit.tag": pysqlite3 does not pass on the extended result code
    kind, _, named = text.partition(" constraint failed")
    if kind == "UNIQUE":
        return _taken(named.removeprefix(": "))
    if kind == "CHECK":
        return _forbidden(named.removeprefix(": "))
    return Conflict(DANGLING) if kind == "FOREIGN KEY" else None


def _from_postgres(error: object) -> DomainError | None:
    state, diagnosis = getattr(error, "sqlstate", None), getattr(error, "diag", None)
    if state is None:  # the client's own complaint; by name, because the driver is an optional extra
        lost = any(kind.__name__ == "OperationalError" for kind in type(error).__mro__)
        return Unavailable(NO_ANSWER) if lost else None
    if state == "23505":
        return _taken(_key_columns(diagnosis))
    if state == "23514":
        return _forbidden(getattr(diagnosis, "constraint_name", None) or "")
    if state == "23503":
        return Conflict(DANGLING)
    sentence = _POSTGRES.get(state) or _POSTGRES.get(state[:2])
    return Unavailable(sentence) if sentence else None


def _key_columns(diagnosis: object) -> str:
    """The columns as SQLite names them, "unit.site, unit.tag", out of "Key (site, tag)=(...) already exists"."""
    table = getattr(diagnosis, "table_name", None) or ""
    columns = re.search(r"\((.*?)\)=\(", getattr(diagnosis, "message_detail", None) or "")
    if columns is None:
        return getattr(diagnosis, "constraint_name", None) or table
    return ", ".join(f"{table}.{column}" for column in columns[1].split(", "))


def _taken(columns: str) -> Conflict:
    table, _, column = columns.partition(".")
    if column.isidentifier():
        return Conflict(f"There is already a {table.replace('_', ' ')} with this {column}.")
    return Conflict(f"There is already a record with this {columns}.")


def _forbidden(constraint: str) -> Conflict:
    return Conflict(f"The record breaks the rule {constraint}.")


class Translating:
    """Turns driver errors that pass through `with` into the product's own, and remembers that one did.

    A class and not a generator: it stands around every statement, and costs a fifth of one.
    """

    __slots__ = ("spoiled",)

    def __init__(self) -> None:
        self.spoiled = False

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if error is None:
            return
        self.spoiled = True
        known = translated(error)
        if known is not None:
            raise known from error
