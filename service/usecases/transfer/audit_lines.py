"""The entries of the audit trail as lines of the export, and stored again as they were."""

from collections.abc import Iterator, Mapping
from typing import Any

import orjson

from service.domain.audit import NO_ENTRY, Actor, Entry, chained
from service.domain.errors import Fault, Invalid
from service.domain.instants import to_text
from service.domain.plain import to_plain
from service.storage.store import Store
from service.usecases import audit

KIND = "audit_entry"
NOT_GIVEN = {"request_id": None, "before": None, "after": None}


def lines(store: Store) -> Iterator[dict[str, Any]]:
    """The entries in the order of the chain; `before` and `after` are the texts over which the hash goes."""
    for _, _, found, entry in store.audit.chain():
        if entry is not None:
            yield {"record": KIND, **to_plain(entry), "at": to_text(entry.at), "hash": found}


class Trail:
    """The trail of a file: stored in a database that has none, left out in any other, since two cannot be merged.

    A database without records that gets a whole trail with them is a copy, as a restored backup is: an entry is
    added only of a record of which the trail has none, and of a token that it has otherwise. Contents of other records
    are not compared.
    """

    def __init__(self, store: Store, *, into_nothing: bool) -> None:
        self.store, self._into_nothing = store, into_nothing
        self._stored = 0
        self._storing: bool | None = None  # not known before the first entry
        self._head: str | None = None  # of the file's entries; None where the first may follow any

    def take(self, line: Mapping[str, Any]) -> str:
        """Store an entry: "added", "unchanged" or "left_out"; Invalid where its hash does not follow."""
        if self._storing is None:
            self._storing = self.store.audit.is_empty()
            self._head = NO_ENTRY if self._storing else None
        entry, head = Entry(**{**NOT_GIVEN, **line}), self._head
        self._head = line["hash"]
        known = self.store.audit.hash_of(entry.id)
        if (head is not None and chained(head, entry) != entry.hash) or (self._storing and known is not None):
            self._storing = self.store.audit.is_copied = False  # what comes behind could not be verified
            raise Invalid([Fault("hash", entry.hash, "does not follow from this entry and the one before it")])
        if known == entry.hash:
            return "unchanged"
        if not self._storing:
            return "left_out"
        self._stored += 1
        self.store.audit.is_copied = self._into_nothing
        self.store.audit.restore(entry, self._stored)
        return "added"

    def record(self, actor: Actor, *, whole: bool) -> None:
        """Record behind the last entry that entries were imported, unless the file was imported as a whole."""
        self.store.audit.is_copied &= whole
        if self._stored:
            after = orjson.dumps({"entries": self._stored}).decode()
            audit.imported(self.store, actor, "audit", "audit", before=None, after=after)
