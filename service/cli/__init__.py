"""The command line: parse, call, print. What is heavy is imported by the command that needs it."""

import sys
from pathlib import Path
from typing import Any

import click

from service import __version__
from service.cli.options import check_paper, day, refusing, year_options


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="glycol-fleet")
def main() -> None:
    """Keep a fleet of beer-line glycol units in order.

    Settings come from the environment: GLYCOL_FLEET_DATABASE_URL (default: a SQLite file in
    GLYCOL_FLEET_HOME), GLYCOL_FLEET_HOST, GLYCOL_FLEET_PORT.
    """


@main.command()
@click.option("--once", is_flag=True, help="Exit after the demonstration instead of serving.")
@click.option("--port", type=click.IntRange(0, 65535), default=None, help="Serve on this port; default: any free port.")
@refusing
def demo(once: bool, port: int | None) -> None:
    """Create a demo fleet, show the PM list, post a visit, and serve."""
    from service.cli.demo import run

    run(once=once, port=port or 0)


@main.command()
@click.option("--host", default=None, help="Listen on this address; default 127.0.0.1.")
@click.option("--port", type=click.IntRange(0, 65535), default=None, help="Listen on this port; default 8410.")
@click.option("--migrate", "migrate_first", is_flag=True, help="Migrate the database first.")
@refusing
def serve(host: str | None, port: int | None, migrate_first: bool) -> None:
    """Serve the API until stopped."""
    from service.cli.serving import run

    run(host=host, port=port, migrate_first=migrate_first)


@main.command()
@refusing
def migrate() -> None:
    """Migrate the database to the schema of this program."""
    from service.cli.opened import settings
    from service.opening import migrate as bring

    bring(settings())
    click.echo("The schema is up to date.", err=True)


@main.command("import")
@click.argument("file", type=click.File("rb"))
@click.option("--keep-good", is_flag=True, help="Store the valid lines or rows even if others are wrong.")
@click.option("--dry-run", is_flag=True, help="Show what would be stored, and store nothing.")
@click.option("--with-tokens", "tokens", is_flag=True, help="Import tokens too: whoever has one can then sign in.")
@click.option("--map", "mapping", type=click.Path(), metavar="MAPPING", help="What the sheets and columns mean.")
@click.option("--guess", is_flag=True, help="Write a first guess of MAPPING, ask what it cannot know, import nothing.")
@click.option("--plan", "expected", metavar="KEY", help="Import only what the dry run with this key showed.")
@click.option("--left-over", type=click.Path(), metavar="CSV", help="Write what was not understood to this file.")
@click.option("--records", type=click.Path(), metavar="CSV", help="Write each field to store, with its cell, there.")
@click.option("--marked", type=click.Path(), metavar="XLSX", help="Write a copy with the faults beside their cells.")
@refusing
def import_records(file: Any, mapping: str | None, guess: bool, tokens: bool, **options: Any) -> None:
    """Import a FILE: all of it, or nothing.

    FILE is JSON Lines (- for standard input), a workbook (.xlsx) or CSV. A workbook or CSV that is not a filled-in
    template needs a MAPPING.
    """
    from service.cli import tables
    from service.cli.database import import_records as run

    if guess:
        sys.exit(tables.write_guess(file, mapping))
    if mapping is not None or tables.is_table(getattr(file, "name", "")):
        sys.exit(tables.import_table(file, mapping, **options))
    if any(options[name] for name in ("expected", "left_over", "records", "marked")):
        raise click.UsageError(
            "--plan, --left-over, --records and --marked are for workbooks and CSV; add --map MAPPING"
        )
    sys.exit(run(file, tokens=tokens, keep_good=options["keep_good"], dry_run=options["dry_run"]))


@main.command()
@click.argument("file", type=click.Path(dir_okay=False), default="glycol-fleet.xlsx", metavar="[FILE]")
@refusing
def template(file: str) -> None:
    """Write an empty workbook to fill in and import, with explanations (default: glycol-fleet.xlsx)."""
    from service.cli import tables

    tables.write_template(file)


@main.command("export")
@click.argument("file", type=click.Path(dir_okay=False, writable=True), required=False)
@click.option("--without-pictures", is_flag=True, help="Leave the pictures out; copy the folder of photos.")
@click.option("--without-trail", is_flag=True, help="Leave the audit trail out.")
@click.option("--with-tokens", is_flag=True, help="Add the tokens, with the hashes of their secrets.")
@refusing
def export_records(file: str | None, without_pictures: bool, without_trail: bool, with_tokens: bool) -> None:
    """Export all records as JSON Lines to FILE, or to standard output."""
    from service.cli.database import export_records as run

    run(file, pictures=not without_pictures, trail=not without_trail, with_tokens=with_tokens)


@main.command()
@click.argument("place", type=click.Path(), metavar="FILE_OR_FOLDER")
@click.option("--keep", type=click.IntRange(1, 10_000), help="Keep this many dated backups, the newest.")
@refusing
def backup(place: str, keep: int | None) -> None:
    """Copy the database while it is in use to a new FILE, or under a dated name to a FOLDER, and check the copy."""
    from service.cli.database import back_up, copy_to

    if keep is not None or Path(place).is_dir():
        back_up(place, keep)
    else:
        copy_to(place)


@main.command()
@click.argument("file", type=click.Path(dir_okay=False))
@refusing
def restore(file: str) -> None:
    """Put the backup FILE in the place of the database, which is set aside. No server may run."""
    from service.cli.database import restore as run

    run(file)


@main.command("move-to")
@click.argument("url", required=False)
@click.option("--undo", is_flag=True, help="Let the database that was moved be written to again.")
@refusing
def move_to(url: str | None, undo: bool) -> None:
    """Move all records to the empty database at URL: from SQLite to PostgreSQL, or back.

    The server may run: it goes on to answer, and refuses what is posted until the move has ended. When it was
    stopped, run it again.
    """
    from service.cli import moving

    if (url is None) != undo:
        raise click.UsageError("give the URL of the new database, or --undo")
    if url is None:
        moving.undo()
    else:
        moving.run(url)


@main.command()
@refusing
def refresh() -> None:
    """Recalculate the due items of every unit, and search units with repeated failures for root causes."""
    from service.cli.refreshing import refresh as run

    run()


@main.command("pm-list")
@click.option("--on", callback=day, metavar="DAY", help="Day of the list (YYYY-MM-DD); default: each site's today.")
@click.option("--horizon-days", type=click.IntRange(0, 366), default=0, help="Include what falls due within N days.")
@click.option("--technician", help="Only the work of this technician (code).")
@click.option("--unassigned", is_flag=True, help="Only what is assigned to nobody.")
@click.option("--format", "form", type=click.Choice(["text", "html", "csv", "ics", "json"]), default="text")
@click.option("--output", default="-", type=click.Path(), help="Output file; default: standard output.")
@refusing
def pm_list(form: str, output: str, **asked: Any) -> None:
    """Show the PM list: calls, due work and root causes, what is most at stake first."""
    from service.cli.pm_list import run
    from service.usecases.planning.pm_list import Asked

    run(Asked(**asked), form=form, output=output)


YEAR: Any = click.IntRange(1900, 2200)


@main.command()
@click.argument("named", nargs=-1, required=True, metavar="[CUSTOMER] YEAR")
@click.option("--all", "of_all", is_flag=True, help="For every customer; OUTPUT is then a folder.")
@year_options
@refusing
def summary(named: tuple[str, ...], of_all: bool, output: str, **options: Any) -> None:
    """Write the service summary of CUSTOMER for YEAR; the CSV is a zip of tables."""
    from service.cli import summaries

    if len(named) + of_all != 2:
        raise click.UsageError("give one CUSTOMER and the YEAR, or --all and the YEAR")
    check_paper(options)
    year: int = YEAR.convert(named[-1], None, None)
    if of_all:
        summaries.everyone(year, folder=output, **options)
    else:
        summaries.one(named[0], year, output=output, **options)


@main.command("fleet-year")
@click.argument("year", type=YEAR)
@year_options
@refusing
def fleet_year(year: int, **options: Any) -> None:
    """Write the fleet year for the owner; the CSV is a zip of tables."""
    from service.cli import summaries

    check_paper(options)
    summaries.fleet(year, **options)


@main.command()
def openapi() -> None:
    """Print the OpenAPI document as YAML."""
    import yaml

    from service.api.openapi import document
    from service.app import RESOURCES

    click.echo(yaml.safe_dump(document(RESOURCES), sort_keys=False, allow_unicode=True, width=120), nl=False)


@main.group()
def token() -> None:
    """Create and revoke tokens."""


@token.command()
@click.option("--role", type=click.Choice(["technician", "dispatcher", "owner", "reader"]), help="Default: technician.")
@click.option("--name", help="Name of the token's holder; default: the technician's code.")
@click.option("--units", type=click.Choice(["si", "us"]), default="us", show_default=True, help="Units in answers.")
@click.option("--technician", default=None, help="Code of the technician whose token it is; it ends when they leave.")
@click.option("--expires", "expires_at", default=None, help="Instant (RFC 3339) at which it expires.")
@click.option("--link", is_flag=True, help="Print a link that signs a browser in once, and its QR code, not the token.")
@click.option("--at", "address", default=None, help="With --link: the server's address as the phone opens it.")
@refusing
def create(link: bool, address: str | None, **fields: Any) -> None:
    """Create a token and print it; it is shown only once. A token needs --technician, or --role and --name."""
    from service.cli import sign_in_links
    from service.cli.database import create_token

    if fields["technician"] is not None:
        fields |= {"role": fields["role"] or "technician", "name": fields["name"] or fields["technician"]}
    for name in ("role", "name"):
        if fields[name] is None:
            raise click.UsageError(f"Missing option '--{name}'.")
    click.echo(sign_in_links.create(address, **fields) if link else create_token(**fields))


@token.command()
@click.argument("token_id")
@refusing
def revoke(token_id: str) -> None:
    """Revoke the token of this id (the part between the underscores)."""
    from service.cli.database import revoke_token

    revoke_token(token_id)


@main.group()
def audit() -> None:
    """Check the audit trail."""


@audit.command()
@click.option("--head", "noted", default=None, help="A head hash noted earlier, which must be in the chain.")
@refusing
def verify(noted: str | None) -> None:
    """Check that no entry of the audit trail was changed or removed; print the count and the head hash."""
    from service.cli.database import verify_audit

    sys.exit(verify_audit(noted))
