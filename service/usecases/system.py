"""Whether the database can be read and written; and the door through which the edges reach it."""

from collections.abc import Callable, Mapping

from service.domain.errors import DomainError
from service.storage.engine.database import Database
from service.storage.store import Store

__all__ = ["Check", "FleetDatabase", "Store", "failing_checks"]

FleetDatabase = Database[Store]
Check = Callable[[], None]


def failing_checks(checks: Mapping[str, Check]) -> dict[str, str]:
    """What is wrong, by the name of the check that found it; empty when all is well."""
    found = {}
    for name, check in checks.items():
        try:
            check()
        except DomainError as refusal:
            found[name] = str(refusal)
    return found
