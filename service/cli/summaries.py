"""Write service summaries and the fleet year to files."""

import sys
from datetime import datetime
from pathlib import Path

import click

from service import __version__, clock
from service.cli.database import write_whole
from service.cli.opened import database
from service.folders import PRIVATE_FOLDER
from service.rendering.year.formats import FORMATS, write_fleet_year, write_summary
from service.usecases.year import summaries


def one(customer: str, year: int, *, form: str, output: str, as_of: datetime | None, paper: str | None) -> None:
    """One customer's summary to a file, or to standard output for "-"."""
    with database() as opened, opened.reading() as store:
        summary = summaries.summarise(
            store, customer, year, as_of=as_of or clock.now(), program_version=__version__, units_shown=None
        )
    put(write_summary(summary, form, paper=paper), output)


def fleet(year: int, *, form: str, output: str, as_of: datetime | None, paper: str | None) -> None:
    """The fleet year to a file, or to standard output for "-"."""
    with database() as opened, opened.reading() as store:
        found = summaries.summarise_fleet(store, year, as_of=as_of or clock.now(), program_version=__version__)
    put(write_fleet_year(found, form, paper=paper), output)


def put(content: bytes, output: str) -> None:
    """Write to a file, or to standard output for "-"."""
    if output == "-":
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
    else:
        write_whole(Path(output), [content])


def everyone(year: int, *, form: str, folder: str, as_of: datetime | None, paper: str | None) -> None:
    """Every customer's summary into a folder, `CODE-YEAR.json` or so; with a progress bar on a terminal."""
    Path(folder).mkdir(PRIVATE_FOLDER, parents=True, exist_ok=True)
    instant = as_of or clock.now()
    with database() as opened:
        with opened.reading() as store:
            codes = summaries.customers(store)
        with click.progressbar(
            codes, label="Summarising", file=sys.stderr, hidden=not sys.stderr.isatty()
        ) as under_way:
            for code in under_way:
                with opened.reading() as store:
                    summary = summaries.summarise(
                        store, code, year, as_of=instant, program_version=__version__, units_shown=None
                    )
                path = Path(folder, f"{code}-{year}.{FORMATS[form].ending}")
                write_whole(path, [write_summary(summary, form, paper=paper)])
    click.echo(f"Wrote {len(codes)} summaries of {year} to {folder}.", err=True)
