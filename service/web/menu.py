"""The links at the top of every page, by role."""

from typing import NamedTuple

from service.api.auth import ALL_ROLES, OFFICE, OWNER, STAFF


class Entry(NamedTuple):
    """A page that a role may open."""

    path: str
    name: str
    allow: frozenset[str]


ENTRIES = (
    Entry("/", "My day", ALL_ROLES - OFFICE),
    Entry("/plan", "The day", OFFICE),
    Entry("/calls", "Calls", STAFF),
    Entry("/units", "Units", STAFF),
    Entry("/root-causes", "What keeps failing", OFFICE),
    Entry("/register", "Register", OFFICE),
    Entry("/years", "Years", OWNER),
    Entry("/tokens", "Access", OWNER),
    Entry("/data", "Data", OWNER),
)


def menu_of(role: str) -> tuple[Entry, ...]:
    """The pages for a role, in order."""
    return tuple(entry for entry in ENTRIES if role in entry.allow)
