"""What the benchmarks of one run share: a folder, the scale, and books that are made once."""

import shutil
import sys
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from tests.benchmarks import fleets
from tests.benchmarks.fleets import Fleet, fleet


@dataclass
class Run:
    """One run. `small` takes a tenth of everything, to try the benchmarks themselves."""

    folder: Path
    rounds: int
    small: bool

    def scaled(self, amount: int) -> int:
        """So many, or a tenth of it."""
        return amount // 10 if self.small else amount

    @cached_property
    def shop(self) -> Fleet:
        """A shop's fleet with three years of history; nobody was there for two months."""
        return fleet(self.scaled(2000), visits=10, readings=6, idle=60)

    @cached_property
    def large(self) -> Fleet:
        """A hundred times as many units: 500 000 due items, 1 500 000 task results."""
        return fleet(self.scaled(100_000), visits=3)

    @cached_property
    def shop_book(self) -> Path:
        """The shop's file, never served itself: take copies."""
        return self._built("shop", self.shop)

    @cached_property
    def large_book(self) -> Path:
        """The large fleet's file; only the refresh writes into it, and runs last."""
        return self._built("large", self.large)

    def copy_of_shop(self, name: str) -> Path:
        """A copy of the shop's file."""
        return Path(shutil.copy(self.shop_book, self.folder / f"{name}.sqlite3"))

    def _built(self, name: str, wanted: Fleet) -> Path:
        say(f"building a book of {wanted.units} units and {wanted.units * wanted.visits} visits")
        return fleets.build(self.folder / f"{name}.sqlite3", wanted)


def say(text: str) -> None:
    """Tell how far it is, beside the table."""
    print(f"... {text}", file=sys.stderr, flush=True)
