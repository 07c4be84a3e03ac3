"""The links at the top of every page, by role; on a phone those of the office are behind one link to a page."""

import re
from typing import NamedTuple

from service.api.auth import ALL_ROLES, OFFICE, OWNER, STAFF


class Entry(NamedTuple):
    """A page that a role may open."""

    path: str
    name: str
    allow: frozenset[str]
    about: str = ""  # what is done there, on the page of the office


ENTRIES = (
    Entry("/", "My day", ALL_ROLES - OFFICE),
    Entry("/plan", "The day", OFFICE),
    Entry("/calls", "Calls", STAFF),
    Entry("/units", "Units", STAFF),
    Entry("/vans", "Van", STAFF - OFFICE),
    Entry("/vans", "Vans", OFFICE, "What is in each, and what today's work is likely to need"),
    Entry("/weeks", "Weeks ahead", OFFICE, "Hours of work against the hours that technicians have"),
    Entry("/root-causes", "What keeps failing", OFFICE, "Causes of repeated failures, with their evidence"),
    Entry("/register", "Register", OFFICE, "Customers, sites, units, PM settings, labels"),
    Entry("/years", "Years", OWNER, "Yearly letters, and the fleet's year"),
    Entry("/tokens", "Access", OWNER, "Tokens, links to sign in, devices"),
    Entry("/data", "Data", OWNER, "Import, export, backup, audit trail"),
)
OF_THE_OFFICE = Entry("/office", "Office", OFFICE)


UNIT = r"(/units/[^/]+)"
ABOVE = tuple(
    (re.compile(pattern), path, name)
    for pattern, path, name in (
        (rf"{UNIT}/(?:components/.+|new-component)", r"\1/components", "Components"),
        (rf"{UNIT}/(?:trunks/.+|new-trunk)", r"\1/trunks", "Trunks"),
        (rf"{UNIT}/pm-settings/.+", r"\1/pm-settings", "PM settings of the unit"),
        (rf"{UNIT}/(edit|components|trunks|locations|pauses|pm-settings|triage)", r"\1", "The unit's page"),
        (r"/pm-settings/.+", "/pm-settings", "PM settings"),
        (r"(/visits/[^/]+)/correct", r"\1", "The visit"),
        (r"/calls/.+", "/calls", "Calls"),
        (r"(/vans/[^/]+)/change", r"\1", "The van"),
        (r"/vans/[^/]+", "/vans", "Vans"),
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
            named = [each for each in ENTRIES if (each.path, each.name) == (up, name)]
            return (up, name) if not named or any(role in each.allow for each in named) else None
    return None


def menu_of(role: str) -> tuple[Entry, ...]:
    """The pages for a role, in order."""
    return tuple(entry for entry in ENTRIES if role in entry.allow)


def part_of(path: str, role: str) -> str:
    """The path in the menu under which a page is; "" for none.

    >>> part_of("/sites/lantern-quay/hours", "owner"), part_of("/units/GU-0007", "owner"), part_of("/devices", "reader")
    ('/register', '/units', '')
    """
    for entry in menu_of(role):
        if path == entry.path or path.startswith(f"{entry.path}/"):
            return entry.path
    up = above(path, role)
    return part_of(up[0], role) if up else ""
