"""Commands for workbooks and CSV files: template, guess, import."""

import sys
from pathlib import Path
from typing import BinaryIO

import click

from service import clock
from service.cli.opened import actor, database
from service.domain.errors import DomainError
from service.mapping import file as mapping_file
from service.mapping import report, template
from service.mapping.guess import Guess, Question, guess
from service.mapping.guess_names import with_aliases
from service.mapping.model import Mapping
from service.mapping.run import Wanted, carry_out
from service.usecases.transfer import known_names
from service.workbooks.cells import Book, Unreadable
from service.workbooks.opening import marked_copy, read_book

FAULTS_SHOWN = 50
ENDINGS = (".xlsx", ".xlsm", ".csv", ".tsv", ".xls", ".ods")


class TableRefused(DomainError):
    """The file cannot be read as a table."""


def is_table(name: str) -> bool:
    """Whether a file is one of tables, by its name."""
    return name.lower().endswith(ENDINGS)


def write_template(path: str) -> None:
    """Write the template; a file that is there is not replaced."""
    with Path(path).open("xb") as written:
        written.write(template.workbook())
    click.echo(f"Wrote {path}. Fill it in, then: glycol-fleet import {path} --dry-run", err=True)


def write_guess(file: BinaryIO, path: str | None) -> int:
    """Guess the mapping, ask on a terminal, write it beside the file; 0, or 1 while something is unanswered."""
    raw = file.read()
    target = Path(path or f"{file.name}.map.toml")
    if target.exists():
        raise TableRefused(f"{target} exists already; it is kept. Name another file with --map.")
    book = _read(raw, None)
    with database() as opened, opened.reading() as store:
        fleet, zones = known_names.fleet(store), list(store.sites.zones())
    made = guess(book, fleet, zones)
    if not made.mapping.tables:
        raise TableRefused("No table was found: no row whose cells are known headings, such as Date, Unit, Customer.")
    if sys.stdin.isatty():
        _ask(made)
    made = with_aliases(made, book, fleet, clock.now().date())
    text = mapping_file.dump(made.mapping, made.remarks, "import with --map and --dry-run")
    target.write_text(text, encoding="utf-8")
    click.echo(text, nl=False)
    click.echo(f"Wrote {target}.", err=True)
    for question in made.questions:
        click.echo(f"To answer in it: {question.path}: {question.text}", err=True)
    return 1 if made.questions else 0


def _ask(made: Guess) -> None:
    for question in list(made.questions):
        made.answered(question.path, _answer(question))


def _answer(question: Question) -> str:
    kind = click.Choice(question.choices) if question.choices else None
    return str(click.prompt(question.text, type=kind, err=True))


def import_table(  # noqa: PLR0913  # the options of the command
    file: BinaryIO,
    path: str | None,
    *,
    keep_good: bool,
    dry_run: bool,
    expected: str | None,
    left_over: str | None,
    records: str | None,
    marked: str | None,
) -> int:
    """Import a workbook or CSV file and print what it did; 0, or 1 when something is wrong."""
    raw = file.read()
    mapping = mapping_file.load(Path(path).read_text(encoding="utf-8")) if path else None
    book = _read(raw, mapping.encoding if mapping else None)
    mapping = mapping or _of_template(book)
    with database() as opened:
        done = carry_out(opened, actor(), book, mapping, Wanted(dry_run, keep_good, expected))
    for line in report.lines(done, FAULTS_SHOWN):
        click.echo("".join(c if c.isprintable() else repr(c)[1:-1] for c in line)[:500], err=True)
    if left_over is not None:
        Path(left_over).write_bytes(report.left_over(done.plan))
    if records is not None:
        Path(records).write_bytes(report.records(done.plan))
    if marked is not None:
        Path(marked).write_bytes(marked_copy(raw, file.name, report.marks(done.plan)))
    if not done.stored:
        why = "This was a dry run; nothing was stored." if dry_run else "Nothing was stored."
        click.echo(why, err=True)
    return 1 if done.plan.faults else 0


def _read(raw: bytes, encoding: str | None) -> Book:
    try:
        return read_book(raw, encoding)
    except Unreadable as fault:
        raise TableRefused(str(fault)) from fault


def _of_template(book: Book) -> Mapping:
    if template.is_template(book):
        return template.mapping()
    raise TableRefused("This is no filled-in template. Make a mapping with --guess, then give it with --map.")
