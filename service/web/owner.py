"""The owner: decisions on root causes, tokens and the links that sign a device in."""

from collections import defaultdict

import segno
from flask import Response, g, request
from markupsafe import Markup

from service.api.auth import OFFICE, OWNER
from service.api.state import actor, database, now
from service.domain.errors import Conflict, Invalid
from service.domain.record.fleet import UNIT_SYSTEMS
from service.domain.root_causes.life_cycle import DECISIONS, RootCauseFilter
from service.domain.sessions import LINK_LIFE
from service.domain.tokens import ROLES, Token
from service.schemas.reading import read
from service.schemas.root_causes import DecisionSchema, shown_root_cause
from service.schemas.tokens import TokenSchema
from service.usecases import sessions, tokens
from service.usecases.root_causes import root_causes
from service.web.page import Pages, see_other
from service.web.render import show
from service.web.time_line import time_line

MOST = 1000
pages = Pages("owner")


@pages.get("/root-causes", allow=OFFICE)
def all_root_causes() -> Response:
    """Why the same kind of part keeps failing, and the decision on it."""
    return _root_causes()


@pages.post("/root-causes/<int:number>", allow=OFFICE)
def decide(number: int) -> Response:
    """Confirm, dismiss or resolve one that was seen in the version of the form."""
    given = {name: text for name in ("state", "note") if (text := request.form.get(name, "").strip())}
    try:
        body = read(DecisionSchema(), given)
        with database().writing() as store:
            former = root_causes.to_decide(store, number)
            if request.form.get("version") != str(former.version):
                raise Conflict("It has changed since this page was opened; it is shown here as it is now.")
            root_causes.decide(store, actor(), former, **body)
    except (Invalid, Conflict) as refusal:
        return _root_causes(refusal, number)
    return see_other("/root-causes")


def _root_causes(refusal: Exception | None = None, number: int | None = None) -> Response:
    with database().reading() as store:
        found = store.root_causes.page(RootCauseFilter(), after=None, limit=MOST)
    shown = [shown_root_cause(each) for each in found]
    return show(
        "root_causes.html",
        status=422 if refusal else 200,
        found=[(each, time_line(each)) for each in shown],
        decisions=DECISIONS,
        tried=number,
        given=request.form,
        refusal=refusal,
    )


@pages.get("/tokens", allow=OWNER)
def all_tokens() -> Response:
    """Who has access; the form for one more."""
    return _tokens()


@pages.post("/tokens", allow=OWNER)
def create_token() -> Response:
    """Create a token, and show the link that signs its holder in."""
    fields = ("name", "role", "units_shown", "technician")
    given = {name: text for name in fields if (text := request.form.get(name, "").strip())}
    try:
        wanted = read(TokenSchema(), given)
        with database().writing() as store:
            token, _ = tokens.create(store, **wanted, actor=actor())
            secret = sessions.make_link(store, actor(), token.id)
    except (Invalid, Conflict) as refusal:
        return _tokens(refusal)
    return _link(token, secret)


@pages.post("/tokens/<code>/link", allow=OWNER)
def make_link(code: str) -> Response:
    """A link that signs one more device in with a token."""
    with database().writing() as store:
        secret = sessions.make_link(store, actor(), code)
        token = store.tokens.find(code)
    return _tokens() if token is None else _link(token, secret)


@pages.post("/tokens/<code>/revoke", allow=OWNER)
def revoke(code: str) -> Response:
    """End a token, and all sessions that began with it."""
    with database().writing() as store:
        tokens.revoke(store, code, actor=actor())
    return see_other("/tokens")


def _tokens(refusal: Exception | None = None) -> Response:
    with database().reading() as store:
        found = [each for each in store.tokens.page(after=None, limit=MOST) if not each.ended(now())]
        technicians = sorted(store.technicians.by_id().values(), key=lambda each: each.name)
    return show(
        "tokens.html", status=422 if refusal else 200, found=found, technicians=technicians, roles=ROLES,
        names={each.code: each.name for each in technicians},
        systems=UNIT_SYSTEMS, refusal=refusal, given=defaultdict(str, (request.form or request.args).items()),
    )  # fmt: skip


def _link(token: Token, secret: str) -> Response:
    """The link as text and as a code to scan. This page alone holds it; it is not kept by the browser."""
    address = f"{request.host_url}link/{secret}"
    code = segno.make(address, error="m", boost_error=False, micro=False)
    drawn = code.svg_inline(scale=6, omitsize=False, svgclass=None, lineclass=None, title="The link as a code to scan")
    g.setdefault("reason", "link made")
    minutes = int(LINK_LIFE.total_seconds() // 60)
    return show(
        "link_made.html", token=token, address=address, minutes=minutes,
        drawn=Markup(drawn),  # noqa: S704 - made by the library from the address, which it does not contain as text
    )  # fmt: skip
