"""Bodies and answers on their way: small ones in memory, within a budget of the whole process, others in a file."""

from io import BytesIO
from tempfile import TemporaryFile
from threading import Lock
from typing import IO

IN_MEMORY = 1024 * 1024  # [B] a body that is larger goes through a file
ANSWER_IN_MEMORY = 4 * 1024 * 1024  # [B] the same of an answer, as long as half of the budget is free
PIECE = 64 * 1024  # [B]
PIECE_IN_MEMORY = 256 * 1024  # [B] of what is held anyway: each piece is a turn of the event loop


class Budget:
    """So many bytes of memory, shared by all threads."""

    def __init__(self, total: int) -> None:
        self.total = total
        self.used = 0
        self._lock = Lock()

    def take(self, amount: int, *, most: float = 1.0) -> bool:
        """Whether there was room for so many more within this share of the total."""
        with self._lock:
            if self.used + amount > self.total * most:
                return False
            self.used += amount
            return True

    def give_back(self, amount: int) -> None:
        """Make room again."""
        with self._lock:
            self.used -= amount


class Spool:
    """Bytes that are written once and then read; the file, if any, has no name and nobody else can open it."""

    def __init__(self, budget: Budget, in_memory: int = IN_MEMORY) -> None:
        self.file: IO[bytes] = BytesIO()
        self.length = 0
        self.on_disk = False
        self._budget = budget
        self._in_memory = in_memory
        self._held = 0

    def write(self, piece: bytes) -> None:
        """Add bytes at the end."""
        if not self.on_disk and not self._fits(len(piece)):
            self._move_to_disk()
        if self.length or self.on_disk:
            self.file.write(piece)
        else:
            self.file = BytesIO(piece)  # keeps these bytes themselves: most answers come in one piece
            self.file.seek(len(piece))
        self.length += len(piece)

    def claim(self) -> bool:
        """Whether the budget has room for a reader that takes the whole content into memory."""
        if not self.on_disk:
            return True
        if not self._budget.take(self.length):
            return False
        self._held += self.length
        return True

    def rewind(self) -> None:
        """Let the next read begin at the first byte."""
        self.file.seek(0)

    def close(self) -> None:
        """Drop the content."""
        self.file.close()
        self._budget.give_back(self._held)
        self._held = 0

    def _fits(self, more: int) -> bool:
        length = self.length + more
        if length > self._in_memory or not self._budget.take(more, most=1.0 if length <= IN_MEMORY else 0.5):
            return False
        self._held += more
        return True

    def _move_to_disk(self) -> None:
        file = TemporaryFile()  # noqa: SIM115 - closed by close()
        if isinstance(self.file, BytesIO):
            file.write(self.file.getbuffer())
        self.file, self.on_disk = file, True
        self._budget.give_back(self._held)
        self._held = 0
