"""Where the application computes what takes long: in this process, or in others that the server has for it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, TypeVar

from service.usecases.computing import Run, here
from service.usecases.system import FleetDatabase, Store

T = TypeVar("T")
V = TypeVar("V")


class MakeDocument(Protocol):
    """Makes a document of the database."""

    def __call__(self, read: Callable[[Store], V], write: Callable[[V], T]) -> T:
        """What `write` makes of what `read` finds; both can be pickled. The transaction ends before `write` begins."""
        ...


@dataclass(frozen=True, slots=True)
class Computing:
    """`run` decodes and typesets, `document` makes a document of the database, `weigh` weighs explanations."""

    run: Run
    document: MakeDocument
    weigh: Run


def in_this_process(database: FleetDatabase) -> Computing:
    """All of it in the thread that asks."""

    def document(read: Callable[[Store], V], write: Callable[[V], T]) -> T:
        with database.reading() as store:
            found = read(store)
        return write(found)

    return Computing(here, document, here)
