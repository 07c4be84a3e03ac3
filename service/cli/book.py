"""Commands that open the book, do one thing and close it."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import BinaryIO

import click
import orjson

from service import clock
from service.app import open_book
from service.domain.audit import Actor
from service.schemas.transfer import read_lines
from service.settings import Settings, from_environment
from service.usecases import due, exporting, importing, tokens
from service.usecases.system import Book

CHUNK = 500
ERRORS_TOLD = 200


def settings() -> Settings:
    """The installation's choices."""
    return from_environment(os.environ)


def actor() -> Actor:
    """Who answers in the audit trail for what is done here: whoever may run commands is an owner."""
    return Actor("command line", "owner", None, clock.now())


@contextmanager
def book() -> Iterator[Book]:
    """The book, closed at the end."""
    opened = open_book(settings())
    try:
        yield opened
    finally:
        opened.close()


def take_in(file: BinaryIO, *, keep_good: bool) -> int:
    """Import a file with a progress bar on a terminal; tells what was done; 0, or 1 when a line was wrong."""
    raw = file.read().splitlines(keepends=True)
    with (
        book() as opened,
        click.progressbar(length=len(raw), label="Importing", file=sys.stderr, hidden=not sys.stderr.isatty()) as bar,
    ):
        try:
            with opened.writing() as store:
                tally = importing.take_in(store, actor(), _told(read_lines(raw), bar), keep_good=keep_good)
        except importing.NothingStored as refusal:
            tally = refusal.tally
            tell_errors(tally)
            click.echo(str(refusal), err=True)
            return 1
    tell_errors(tally)
    tell(tally)
    return 1 if tally.errors else 0


def _told(lines: Iterator[importing.Line], bar: "click._termui_impl.ProgressBar[int]") -> Iterator[importing.Line]:
    seen = 0
    for line in lines:
        yield line
        bar.update(line.number - seen)
        seen = line.number


def tell_errors(tally: importing.Tally) -> None:
    """Every error by line and field, the first few hundred of them."""
    for error in tally.errors[:ERRORS_TOLD]:
        click.echo(f"line {error.line}, {error.field}: {error.message} (given: {error.value!r})"[:500], err=True)
    if len(tally.errors) > ERRORS_TOLD:
        click.echo(f"... and {len(tally.errors) - ERRORS_TOLD} more errors", err=True)


def tell(tally: importing.Tally) -> None:
    """What an import did."""
    for word, counted in (("added", tally.added), ("changed", tally.changed), ("unchanged", tally.unchanged)):
        if counted:
            told = ", ".join(f"{count} {kind}{'s' if count > 1 else ''}" for kind, count in counted.items())
            click.echo(f"{word}: {told}", err=True)


def give_out(path: str | None) -> None:
    """Export to a file, which is there whole or not at all, or to standard output."""
    with book() as opened, opened.reading() as store:
        lines = (orjson.dumps(record) + b"\n" for record in exporting.records(store))
        if path is None:
            sys.stdout.buffer.writelines(lines)
            sys.stdout.buffer.flush()
            return
        with click.open_file(path, "wb", atomic=True) as file:
            file.writelines(lines)


def refresh() -> None:
    """Refresh every unit's due items in chunks that let visits through."""
    units, after = 0, 0
    with book() as opened:
        while True:
            with opened.writing() as store:
                following, count = due.refresh_next(store, after, CHUNK)
            units += count
            if following is None:
                break
            after = following
    click.echo(f"Refreshed the due items of {units} units.", err=True)


def create_token(*, role: str, name: str, units: str) -> str:
    """A new token's text."""
    with book() as opened, opened.writing() as store:
        _, text = tokens.issue(store, name=name, role=role, units_shown=units, actor=actor())
    return text


def revoke_token(token_id: str) -> None:
    """End a token."""
    with book() as opened, opened.writing() as store:
        tokens.revoke(store, token_id, actor=actor())
