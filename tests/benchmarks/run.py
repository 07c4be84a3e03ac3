"""What the benchmarks of one commit share: its checkout, a folder, the scale, and databases that are made once."""

import shutil
import sys
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from tests.benchmarks.fleets import Fleet, fleet
from tests.benchmarks.programs import Checkout

BUILD = """
import sys
from pathlib import Path
from tests.benchmarks.fleets import build, fleet
path, units, visits, readings, idle = Path(sys.argv[1]), *map(int, sys.argv[2:])
build(path, fleet(units, visits=visits, readings=readings, idle=idle))
"""


@dataclass
class Run:
    """One commit's part of a run. `small` takes a tenth of everything, to try the benchmarks themselves."""

    checkout: Checkout
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
        """Fifty times as many units: 500 000 due items, 1 500 000 task results."""
        return fleet(self.scaled(100_000), visits=3)

    @cached_property
    def shop_database(self) -> Path:
        """The shop's file; never served itself."""
        path = self._built("shop", self.shop)
        self.checkout.command(path, "refresh")  # makes its due items true
        return path

    @cached_property
    def large_database(self) -> Path:
        """The large fleet's file; served for reading only."""
        return self._built("large", self.large)

    @property
    def scratch(self) -> Path:
        """The folder of the benchmark under way."""
        return self.folder / "scratch"

    def clear(self) -> None:
        """Drop what the benchmark before left."""
        shutil.rmtree(self.scratch, ignore_errors=True)
        self.scratch.mkdir(parents=True)

    def copy(self, database: Path, name: str) -> Path:
        """A copy of a file that nobody has open, for this benchmark alone."""
        return Path(shutil.copy(database, self.scratch / f"{name}.sqlite3"))

    def _built(self, name: str, wanted: Fleet) -> Path:
        say(f"building {wanted.units} units with {wanted.units * wanted.visits} visits")
        path = self.folder / f"{name}.sqlite3"
        sizes = (wanted.units, wanted.visits, wanted.readings, wanted.idle)
        self.checkout.run("-c", BUILD, str(path), *map(str, sizes))  # by its own benchmarks, in its own schema
        return path


def say(text: str) -> None:
    """Show progress beside the table."""
    print(f"... {text}", file=sys.stderr, flush=True)
