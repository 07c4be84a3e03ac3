"""Move all records to another database, and let the former one be used again."""

import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import replace

import click

from service import clock
from service.cli import plain_words
from service.cli.opened import database, settings
from service.opening import closed_where_refused, migrate, open_checked_database, open_database
from service.settings import Settings
from service.usecases import moving

PATIENCE = 30.0  # [s] for the writers under way to end
STEPS = 1000  # of a bar: it is not drawn anew for every row


def run(url: str) -> None:
    """Move to an empty database at an address, or end a move to it that was stopped."""
    from service.cli import moved_answers  # it has the whole application answer

    chosen = settings()
    other = replace(chosen, database_url=url)
    open_checked_database(chosen).close()
    answers: list[int] = []
    with closing(_opened(chosen)) as opened:
        source = moving.Side.at(opened, chosen.database_url)
        with closing(_opened(other)) as empty:
            moving.prepare(source, moving.Side.at(empty, url))
        migrate(other)
        now = clock.now()
        with closing(_opened(other)) as migrated:
            target = moving.Side.at(migrated, url)
            moving.begin(source, target, now)
            done = moving.move(
                source, target, now=now, bar=bar, check=lambda: answers.append(moved_answers.check(chosen, other, now))
            )
    _print(done, target.address, answers[0])


def undo() -> None:
    """Let the database of the settings be written to again."""
    with database() as opened:
        address = moving.undo(opened)
    click.echo("This database can be written to again.", err=True)
    click.echo(f"What was recorded at {address} since the move is not here, and that database is as it was.", err=True)


def _opened(chosen: Settings) -> moving.FleetDatabase:
    made = open_database(chosen, patience=PATIENCE, limited=False)
    with closed_where_refused(made):
        made.check_start()
    return made


@contextmanager
def bar(label: str, total: int) -> Iterator[Callable[[int], None]]:
    """A progress bar on a terminal."""
    shown = click.progressbar(
        length=total, label=label, file=sys.stderr, hidden=not sys.stderr.isatty(), update_min_steps=total // STEPS
    )
    with shown as under_way:
        yield under_way.update


def _print(done: moving.Moved, address: str, answers: int) -> None:
    rows = sum(each.rows for each in done.tables.values())
    for name, each in done.tables.items():
        if each.rows:
            click.echo(f"{plain_words.TABLES[name]}: {each.rows}, SHA-256 {each.sha256[:16]} on both sides", err=True)
    click.echo(f"Moved {rows} rows and {done.photos} photos to {address}; {answers} answers compared.", err=True)
    if done.lost:
        click.echo(
            f"Photos missing or damaged before the move: {len(done.lost)}, among them {done.lost[0]}.jpg.", err=True
        )
    click.echo("The former database can only be read now. Next:", err=True)
    click.echo("  set GLYCOL_FLEET_DATABASE_URL to the new address and start the server again", err=True)
    click.echo("  or, to go back before anything is recorded there: glycol-fleet move-to --undo", err=True)
