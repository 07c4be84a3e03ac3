"""A connection to PostgreSQL that gives up a server that is silent: its own limits do not run while it is frozen."""

from collections.abc import Generator
from time import monotonic
from typing import Any

from psycopg import Connection, OperationalError

SILENCE = 4.0  # [s] within a statement


class LimitedConnection(Connection[Any]):
    """Closes itself, with an OperationalError, when no answer comes for `silence` [s]; None waits for ever."""

    silence: float | None = SILENCE

    def wait(self, gen: Any, *args: Any, **kwargs: Any) -> Any:
        """Wait for what psycopg has sent; every wait of a connection goes through here."""
        if self.silence is None:
            return super().wait(gen, *args, **kwargs)
        return super().wait(self._limited(gen, self.silence), *args, **kwargs)

    def _limited(self, gen: Generator[Any, Any, Any], silence: float) -> Generator[Any, Any, Any]:
        try:
            state = next(gen)
            heard = monotonic()
            while True:
                ready = yield state
                if ready:
                    heard = monotonic()
                elif monotonic() - heard > silence:
                    self.pgconn.finish()
                    raise OperationalError(f"no answer within {silence:g} seconds")
                state = gen.send(ready)
        except StopIteration as end:
            return end.value
