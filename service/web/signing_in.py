"""Signing in with a one-time link or a token, signing out, and the devices that are signed in."""

from urllib.parse import urlsplit

from flask import Response, g, request
from werkzeug.exceptions import TooManyRequests, Unauthorized

from service.api import auth
from service.api.auth import ALL_ROLES, OPEN
from service.api.limits import network_of
from service.api.state import actor, caller, database, now, state
from service.domain.tokens import Token
from service.usecases import sessions
from service.web import guard
from service.web.page import Pages, see_other
from service.web.render import show

UNKNOWN = "This token is unknown, or has ended. Copy all of it, from gf_ to its last letter."
USED_UP = 410
# In the order in which to look: each of them also names some of those behind it.
BROWSERS = (("Edg", "Edge"), ("Firefox/", "Firefox"), ("Chrome/", "Chrome"), ("Safari/", "Safari"))
SYSTEMS = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh", "macOS"),
    ("Linux", "Linux"),
)
pages = Pages("signing_in")


@pages.get("/sign-in", allow=OPEN)
def sign_in_form() -> Response:
    """Where a token can be pasted."""
    return show("sign_in.html", why="", fault="")


@pages.post("/sign-in", allow=OPEN)
def sign_in() -> Response:
    """Begin a session with a token."""
    try:
        token = auth.holder_of(request.form.get("token", "").strip())
    except Unauthorized:
        return show("sign_in.html", status=422, why="", fault=UNKNOWN)
    if token.ended(now()):
        return show("sign_in.html", status=422, why="", fault=UNKNOWN)
    with database().writing() as store:
        secret = sessions.sign_in(store, token, device(), now())
    return _signed_in(token, secret, request.form.get("next", "/"))


@pages.get("/link/<secret>", allow=OPEN)
def link(secret: str) -> Response:
    """Show who would be signed in here. Opening the link changes nothing: previews and scanners open links too."""
    _require_patience(secret)
    with database().reading() as store:
        token = sessions.holder_of_link(store, secret, now())
    return _used_up() if token is None else show("link.html", token=token, secret=secret)


@pages.post("/link/<secret>", allow=OPEN)
def use_link(secret: str) -> Response:
    """Begin a session, and use the link up."""
    _require_patience(secret)
    with database().writing() as store:
        used = sessions.use_link(store, secret, device(), now())
    return _used_up() if used is None else _signed_in(used[0], used[1], "/")


@pages.post("/sign-out", allow=ALL_ROLES)
def sign_out() -> Response:
    """End this session. What waits to be sent stays in the browser."""
    with database().writing() as store:
        sessions.end(store, actor(), g.session.id)
    return guard.forget(see_other("/sign-in"))


@pages.get("/devices", allow=ALL_ROLES)
def devices() -> Response:
    """The browsers that are signed in: one's own; for the owner all."""
    of_token = None if caller().role == "owner" else caller().token_id
    with database().reading() as store:
        found = sessions.open_sessions(store, now(), of_token)
    return show("devices.html", found=found, own=g.session.id)


@pages.post("/devices/<session_id>/end", allow=ALL_ROLES)
def end_device(session_id: str) -> Response:
    """Sign a browser out from here."""
    of_token = None if caller().role == "owner" else caller().token_id
    with database().writing() as store:
        sessions.end(store, actor(), session_id, of_token=of_token)
    return see_other("/devices")


def device() -> str:
    """The browser in words, by what it says of itself."""
    return in_words(request.headers.get("User-Agent", ""))


def in_words(agent: str) -> str:
    """A browser's own words shortened to its name and system; others as they are.

    >>> in_words("Mozilla/5.0 (Linux; Android 16; K) AppleWebKit/537.36 Chrome/156.0 Mobile Safari/537.36")
    'Chrome on Android'
    """
    name = next((name for mark, name in BROWSERS if mark in agent), None)
    system = next((name for mark, name in SYSTEMS if mark in agent), None)
    return f"{name} on {system}" if name and system else agent or "unknown"


def _signed_in(token: Token, secret: str, path: str) -> Response:
    g.reason = f"signed in: {token.id}"
    parts = urlsplit(path)
    local = path.startswith("/") and not parts.netloc and "\\" not in path
    return guard.remember(see_other(path if local else "/"), secret)


def _require_patience(secret: str) -> None:
    """429 for an address that has tried too many links or tokens that open nothing."""
    if seconds := state().attempts.wait(network_of(request.remote_addr), secret, now()):
        raise TooManyRequests(retry_after=seconds)


def _used_up() -> Response:
    g.reason = "link used up"
    state().attempts.failed(network_of(request.remote_addr), now())
    return show("link_used.html", status=USED_UP)
