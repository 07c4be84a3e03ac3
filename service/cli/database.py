"""Commands on records, backups and tokens: they open the database, do one thing and close it."""

import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import closing
from itertools import chain
from pathlib import Path
from typing import Any, BinaryIO

import click
import orjson

from service import clock
from service.cli import plain_words
from service.cli.opened import actor, database, settings
from service.folders import private_opener, shipped
from service.opening import photo_folder
from service.schemas.reading import read
from service.schemas.tokens import TokenSchema
from service.schemas.transfer import read_lines
from service.usecases import audit, backups, tokens
from service.usecases.transfer import exporting, importing, token_lines

ERRORS_SHOWN = 200


def import_records(file: BinaryIO, **how: bool) -> int:
    """Import a file with a progress bar on a terminal and print the counts; 0, or 1 when a line was wrong."""
    length = _length(file)
    with (
        database() as opened,
        click.progressbar(length=length, label="Importing", file=sys.stderr, hidden=not sys.stderr.isatty()) as bar,
    ):
        try:
            with opened.writing() as store:
                lines = read_lines(_with_progress(file, bar))
                tally = importing.import_records(store, actor(), lines, **how)
        except importing.Rehearsed as ended:
            tally = ended.tally
            click.echo(str(ended), err=True)
        except importing.NothingStored as refusal:
            tally = refusal.tally
            print_errors(tally)
            click.echo(str(refusal), err=True)
            return 1
    print_errors(tally)
    print_tally(tally)
    return 1 if tally.errors else 0


def _length(file: BinaryIO) -> int:
    """The bytes of a file; 0 of a pipe, which has no end yet."""
    if not file.seekable():
        return 0
    length = file.seek(0, os.SEEK_END)
    file.seek(0)
    return length


def _with_progress(lines: Iterable[bytes], bar: "click._termui_impl.ProgressBar[int]") -> Iterator[bytes]:
    """The lines one by one: a file with photos is larger than memory."""
    for line in lines:
        yield line
        bar.update(len(line))


def print_errors(tally: importing.Tally) -> None:
    """Print the errors by line and field, the first few hundred of them."""
    for error in tally.errors[:ERRORS_SHOWN]:
        where = f"line {error.line}" if error.field == "line" else f"line {error.line}, {error.field}"
        given = "" if error.value is None else f" (given: {error.value!r})"
        text = f"{where}: {error.message}{given}"[:500]
        # a field is the file's own text: no control character may reach the terminal
        click.echo("".join(c if c.isprintable() else repr(c)[1:-1] for c in text), err=True)
    more = len(tally.errors) - ERRORS_SHOWN + tally.more_errors
    if more > 0:
        click.echo(f"... and {more} more errors", err=True)


def print_tally(tally: importing.Tally) -> None:
    """Print the counts of an import."""
    for word in ("added", "changed", "unchanged", "left_out"):
        if counted := getattr(tally, word):
            text = ", ".join(plain_words.counted(kind, count) for kind, count in counted.items())
            click.echo(f"{word.replace('_', ' ')}: {text}", err=True)
    for kind in tally.left_out:
        click.echo(f"{plain_words.RECORDS[kind][1]}: {importing.WHY_LEFT_OUT[kind]}", err=True)


def export_records(path: str | None, *, pictures: bool = True, trail: bool = True, with_tokens: bool = False) -> None:
    """Export to a file, which is there whole or not at all, or to standard output."""
    with (
        database() as opened,
        opened.lasting() as store,
        closing(exporting.records(store, pictures=pictures, trail=trail)) as records,
    ):
        more = token_lines.lines(store) if with_tokens else ()
        lines = (orjson.dumps(record) + b"\n" for record in chain(records, more))
        if path is None or path == "-":
            sys.stdout.buffer.writelines(lines)
            sys.stdout.buffer.flush()
        else:
            write_whole(Path(path), lines)


def write_whole(path: Path, lines: Iterable[bytes]) -> None:
    """Write a file whole or not at all; what is there and no ordinary file, such as a pipe, is written into."""
    if path.exists() and not path.is_file():
        with path.open("wb") as file:
            file.writelines(lines)
        return
    target = path.resolve()  # of a link, the file itself
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with open(part, "wb", opener=private_opener) as file:
            file.writelines(lines)
            file.flush()
            os.fsync(file.fileno())
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)


def copy_to(path: str) -> None:
    """Copy the database to a file that is not there yet."""
    with database() as opened:
        backups.copy_to(opened, Path(path).absolute())
    click.echo(f"Copied to {path}.", err=True)


def back_up(folder: str, keep: int | None) -> None:
    """Copy the database to a dated file in a folder, then remove the oldest beyond `keep`."""
    with database() as opened:
        written = backups.back_up(opened, Path(folder).absolute(), keep, clock.now())
    click.echo(f"Copied to {written}.", err=True)


def restore(file: str) -> None:
    """Put a backup in the place of the database, and report what the former one holds beyond it."""
    chosen = settings()
    done = backups.restore(
        chosen.database_url, Path(file), migrations=shipped("migrations"), photos=photo_folder(chosen), now=clock.now()
    )
    click.echo(f"Restored {done.path} from {file}.", err=True)
    print_photos(done)
    if done.kept is None:
        click.echo("There was no database before.", err=True)
        return
    click.echo(f"The former database is kept as {done.kept}.", err=True)
    if done.newer is None:
        click.echo(f"What it holds beyond the backup is not known: {done.unreadable}.", err=True)
    else:
        print_newer(done.newer)


def print_photos(done: backups.Restored) -> None:
    """Print how many photos were copied, and which are missing."""
    if done.photos:
        click.echo(f"Photos copied: {done.photos}.", err=True)
    if done.lost:
        click.echo(
            f"Photos that the backup lacks or has damaged: {len(done.lost)}, among them {done.lost[0]}.jpg.", err=True
        )


def print_newer(newer: backups.Newer) -> None:
    """Print what the former database holds beyond the backup."""
    counts = ", ".join(f"{count} {kind}{'' if count == 1 else 's'}" for kind, count in newer.counts.items() if count)
    click.echo(f"It holds beyond the backup: {counts or 'no further records'}.", err=True)
    for kind, (former, backup) in newer.last.items():
        name = "visit recorded" if kind == "visit" else "change in the audit trail"
        click.echo(f"Last {name}: {former or 'none'}; in the backup: {backup or 'none'}.", err=True)


def create_token(*, role: str, name: str, units: str, technician: str | None, expires_at: str | None) -> str:
    """Create a token and return its text; Invalid when a field is invalid."""
    wanted = token_fields(role=role, name=name, units=units, technician=technician, expires_at=expires_at)
    with database() as opened, opened.writing() as store:
        _, text = tokens.create(store, **wanted, actor=actor())
    return text


def token_fields(*, role: str, name: str, units: str, technician: str | None, expires_at: str | None) -> dict[str, Any]:
    """The fields of a new token, read as those of a request; Invalid with every fault."""
    given = {"name": name, "role": role, "units_shown": units, "technician": technician, "expires_at": expires_at}
    return read(TokenSchema(), {field: value for field, value in given.items() if value is not None})


def revoke_token(token_id: str) -> None:
    """Revoke a token."""
    with database() as opened, opened.writing() as store:
        tokens.revoke(store, token_id, actor=actor())


def verify_audit(noted: str | None) -> int:
    """Check the chain of the audit trail and print what was found; 0, or 1 when something does not fit."""
    with database() as opened, opened.lasting() as store:
        proof = audit.verify(store, noted)
    click.echo(f"{proof.entries} entries fit; head {proof.head}")
    if proof.fault:
        click.echo(proof.fault, err=True)
    elif noted is not None and proof.noted is None:
        click.echo("the chain does not hold the noted head: entries were removed from its end, or rewritten", err=True)
    elif proof.noted is not None:
        click.echo(f"The noted head is that of entry {proof.noted} of the chain.")
    return 1 if proof.fault or (noted is not None and proof.noted is None) else 0
