"""What the clockwork reports of itself: its last tick, and what failed at its last attempt."""

from time import monotonic

from service.domain.errors import Unavailable
from service.usecases.system import Check

STALE_AFTER = 300.0  # [s], ten ticks


class Health:
    """Reports of one clockwork, by the monotonic clock: a clock that is set back changes nothing here."""

    def __init__(self) -> None:
        self._ticked = monotonic()
        self._failures: dict[str, str] = {}

    def tick(self) -> None:
        """The clockwork runs."""
        self._ticked = monotonic()

    def report(self, name: str, failure: str | None) -> None:
        """What a job failed with at its last attempt, None when it succeeded."""
        if failure is None:
            self._failures.pop(name, None)
        else:
            self._failures[name] = failure

    def checks(self) -> dict[str, Check]:
        """The checks for `/readyz`."""
        return {"clockwork": self._check_ticks, "backup": self._check_backup}

    def _check_ticks(self) -> None:
        silent = monotonic() - self._ticked
        if silent > STALE_AFTER:
            raise Unavailable(f"The clockwork has not run for {int(silent // 60)} minutes; restart the server.")

    def _check_backup(self) -> None:
        if failure := self._failures.get("backup"):
            raise Unavailable(failure)
