"""Write the fleet's year to a file."""

from collections.abc import Callable, Mapping
from datetime import datetime

from service import __version__, clock
from service.cli.database import book
from service.cli.summaries import on_paper, put
from service.domain.summary.fleet_year import FleetYear
from service.rendering.year import fleet_csv as fleet_year_csv
from service.rendering.year import fleet_json as fleet_year_json
from service.usecases import fleet_years


def _workbook(told: FleetYear) -> bytes:
    from service.rendering.year import fleet_xlsx as fleet_year_xlsx  # with its library it is needed by few commands

    return fleet_year_xlsx.render(told)


def _document(told: FleetYear, paper: str | None = None) -> bytes:
    from service.rendering.year import fleet_pdf as fleet_year_pdf  # as above

    return fleet_year_pdf.render(told, paper)


FORMS: Mapping[str, Callable[..., bytes]] = {
    "json": fleet_year_json.render,
    "csv": fleet_year_csv.render,
    "xlsx": _workbook,
    "pdf": _document,
}


def write(year: int, *, form: str, output: str, as_of: datetime | None, paper: str | None) -> None:
    """The fleet's year to a file, or to standard output for "-"."""
    with book() as opened, opened.reading() as store:
        told = fleet_years.summarise_fleet(store, year, as_of=as_of or clock.now(), program_version=__version__)
    put(FORMS[form](told, **on_paper(paper)), output)
