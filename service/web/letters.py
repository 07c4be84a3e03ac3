"""The yearly letters and the fleet's year: looked at, handed out, and kept as they were handed out."""

from functools import partial

from flask import Response

from service import __version__
from service.api.auth import OWNER
from service.api.headers import attachment
from service.api.state import actor, database, now, state
from service.api.summaries import figures
from service.domain.summary.issues import edition_of
from service.rendering.year.formats import FORMATS, write_edition, write_fleet_year, write_summary
from service.usecases.year import issues, summaries
from service.web.page import Pages, see_other
from service.web.render import show

MOST = 1000
PDF = "pdf"
pages = Pages("letters")


@pages.get("/years", allow=OWNER)
def years() -> Response:
    """The yearly letters and the fleet's year."""
    with database().reading() as store:
        customers = store.customers.page(after=None, limit=MOST)
    this_year = now().year
    return show("years.html", customers=customers, years=[this_year, this_year - 1, this_year - 2])


@pages.get("/years/<int:number>", allow=OWNER)
def fleet_year(number: int) -> Response:
    """The fleet's year as a PDF."""
    read = partial(summaries.summarise_fleet, year=number, as_of=now(), program_version=__version__)
    return _document(state().computing.document(read, partial(write_fleet_year, form=PDF)), f"fleet-{number}")


@pages.get("/years/<int:number>/<code>", allow=OWNER)
def letter(number: int, code: str) -> Response:
    """One customer's year as a PDF."""
    read = figures(code, number, now())
    return _document(state().computing.document(read, partial(write_summary, form=PDF)), f"{code}-{number}")


def _document(body: bytes, name: str) -> Response:
    return Response(body, 200, attachment(f"{name}.pdf"), content_type=FORMATS[PDF].media)


@pages.get("/years/<int:number>/<code>/issues", allow=OWNER)
def letter_page(number: int, code: str) -> Response:
    """A customer's year: what it says in short, and the letters that were handed out."""
    current = state().computing.document(figures(code, number, now()), edition_of)
    with database().reading() as store:
        customer = store.customers.get(code)
        kept = store.issues.of_year(customer.code, number)
    return show("letter.html", current=current, customer=customer, year=number, kept=kept)


@pages.post("/years/<int:number>/<code>/issues", allow=OWNER)
def hand_out(number: int, code: str) -> Response:
    """Keep the letter as it is handed out now, byte for byte."""
    write = partial(write_edition, form=PDF)
    edition, body = state().computing.document(figures(code, number, now()), write)
    with database().writing() as store:
        issues.keep(store, actor(), edition, PDF, body)
    return see_other(f"/years/{number}/{edition.customer}/issues")


@pages.get("/years/<int:number>/<code>/issues/<issue>", allow=OWNER)
def issued_letter(number: int, code: str, issue: str) -> Response:
    """A letter with the bytes with which it was handed out."""
    with database().reading() as store:
        kept, body = store.issues.get(code, number, issue.lower())
    named = attachment(f"{code}-{number}-{kept.id[:8]}.{FORMATS[kept.form].ending}")
    return Response(body, 200, named, content_type=FORMATS[kept.form].media)
