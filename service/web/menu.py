"""The links at the top of every page, by role."""

import re
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


UNIT = r"(/units/[^/]+)"
ABOVE = tuple(
    (re.compile(pattern), path, name)
    for pattern, path, name in (
        (rf"{UNIT}/components/.+", r"\1/components", "Components"),
        (rf"{UNIT}/pm-settings/.+", r"\1/pm-settings", "PM settings of the unit"),
        (rf"{UNIT}/(edit|components|locations|pauses|pm-settings|triage)", r"\1", "The unit's page"),
        (r"/pm-settings/.+", "/pm-settings", "PM settings"),
        (r"(/visits/[^/]+)/correct", r"\1", "The visit"),
        (r"/calls/.+", "/calls", "Calls"),
        (r"/(customers|sites|technicians)/[^/]+/(edit|hours|closures|leave)", "/register", "Register"),
        (r"/(register/.+|company|labels|onboarding|pm-settings)", "/register", "Register"),
        (r"/years/[0-9]+/[^/]+/issues", "/years", "Years"),
        (r"/(audit|data/tables)", "/data", "Data"),
        (r"/sites/[^/]+/no-access/.+", "/", "My day"),
        (r"/devices", "/tokens", "Access"),
    )
)


def above(path: str, role: str) -> tuple[str, str] | None:
    """The page from which one comes to this one, and its name; None where the menu leads here or the role may not."""
    for pattern, to, name in ABOVE:
        if found := pattern.fullmatch(path):
            up = found.expand(to)
            entry = next((each for each in ENTRIES if each.path == up), None)
            return (up, name) if entry is None or role in entry.allow else None
    return None


def menu_of(role: str) -> tuple[Entry, ...]:
    """The pages for a role, in order."""
    return tuple(entry for entry in ENTRIES if role in entry.allow)
