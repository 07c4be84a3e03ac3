"""Write the fleet's year to a file."""

from datetime import datetime

from service import __version__, clock
from service.cli.database import book
from service.cli.summaries import put
from service.rendering.year.formats import write_fleet_year
from service.usecases import fleet_years


def write(year: int, *, form: str, output: str, as_of: datetime | None, paper: str | None) -> None:
    """The fleet's year to a file, or to standard output for "-"."""
    with book() as opened, opened.reading() as store:
        told = fleet_years.summarise_fleet(store, year, as_of=as_of or clock.now(), program_version=__version__)
    put(write_fleet_year(told, form, paper=paper), output)
