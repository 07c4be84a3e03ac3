"""What the commands share: options, and the report of an error."""

import sys
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any

import click

FAILED = 1


def refusing(command: Callable[..., Any]) -> Callable[..., Any]:
    """Report an error in one line on standard error, and exit with 1."""

    @wraps(command)
    def run(*args: Any, **kwargs: Any) -> Any:
        from service.domain.errors import DomainError
        from service.opening import Refused
        from service.settings import SettingsError

        try:
            return command(*args, **kwargs)
        except BrokenPipeError:  # whoever read us has gone, as `head` does; click ends quietly
            raise
        except (Refused, DomainError, SettingsError, OSError) as refusal:
            click.echo(f"glycol-fleet: {'; '.join(str(refusal).splitlines())}", err=True)
            sys.exit(FAILED)

    return run


def past(_: click.Context, option: click.Parameter, text: str | None) -> Any:
    """The instant given, None without one; BadParameter for text that is no instant or lies in the future."""
    from service import clock
    from service.domain.instants import parse_instant

    try:
        instant = None if text is None else parse_instant(text)
    except ValueError as fault:
        raise click.BadParameter(str(fault), param=option) from fault
    if instant is not None and instant > clock.now():
        raise click.BadParameter("it is in the future", param=option)
    return instant


def year_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of both documents of a year."""
    forms = click.Choice(["json", "csv", "xlsx", "pdf"])
    for option in (
        click.option("--as-of", callback=past, help="Events up to this instant (RFC 3339); default now."),
        click.option("--paper", type=click.Choice(["letter", "a4"]), help="Paper of the PDF; default by the units."),
        click.option("--output", required=True, type=click.Path(), help="Output file; - for standard output."),
        click.option("--format", "form", type=forms, default="json", show_default=True),
    ):
        command = option(command)
    return command


def check_paper(options: Mapping[str, Any]) -> None:
    """Raise UsageError for a paper size of a form other than PDF."""
    if options["paper"] and options["form"] != "pdf":
        raise click.UsageError("only the PDF has a paper size; add --format pdf")


def day(_: click.Context, option: click.Parameter, given: str | None) -> Any:
    """The day given, None without one; BadParameter for text that is none."""
    from service.domain.instants import parse_day

    try:
        return None if given is None else parse_day(given)
    except ValueError as fault:
        raise click.BadParameter(str(fault), param=option) from fault
