"""Who opens a page: the session in the cookie, requests from other sites, and what a browser may do with a page."""

import logging
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit

from flask import Response, g, request
from werkzeug.exceptions import Forbidden, Unauthorized

from service.api.auth import admit_holder
from service.api.state import Caller, database, now, state
from service.domain.errors import Unavailable
from service.domain.sessions import LONGEST
from service.usecases import sessions

logger = logging.getLogger("glycol_fleet.access")
SAFE = ("GET", "HEAD")
SIGN_IN = "Sign in first: your session has ended, or there was none."
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "require-trusted-types-for 'script'",
        "trusted-types worker",
    )
)
HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": POLICY,
    # A form's Origin would be "null" with no-referrer, and so could not be compared.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=()",
}


def require_same_origin() -> None:
    """403 for a change that another site asks for; a browser says so in Sec-Fetch-Site, an older one in Origin."""
    if request.method in SAFE:
        return
    site = request.headers.get("Sec-Fetch-Site")
    origin = urlsplit(request.headers.get("Origin", ""))
    if site != "same-origin" if site is not None else origin.netloc != request.host:
        g.reason = "other site"
        raise Forbidden("This form was not sent by a page of this server. Open the page here and send it again.")


def admit(allowed: frozenset[str]) -> Caller:
    """The signed-in caller, kept for the request; 401 without a session, 403 by role."""
    found = None
    if secret := request.cookies.get(cookie_name()):
        with database().reading() as store:
            found = sessions.known(store, secret)
    if found is None:
        g.reason = "no session"
        raise Unauthorized(SIGN_IN)
    session, token = found
    if ended := session.ended(now()) or token.ended(now()):
        g.reason = ended
        raise Unauthorized(SIGN_IN)
    g.session = session
    if state().uses.is_due(f"session {session.id}", session.last_used_at, now()):
        _used(session.id)
    return admit_holder(token, allowed)


def _used(session_id: str) -> None:
    """Record the use of a session; a page is shown also where nothing can be written just now."""
    try:
        with database().writing() as store:
            store.sessions.used(session_id, now())
    except Unavailable as fault:
        logger.warning("the use of a session is not recorded: %s", fault)


def cookie_name() -> str:
    """The cookie of the session: over TLS one that no other host and no plain connection can set (`__Host-`)."""
    return "__Host-session" if request.is_secure else "session"


def remember(answer: Response, secret: str) -> Response:
    """The answer with the cookie of a new session."""
    answer.set_cookie(cookie_name(), secret, max_age=LONGEST, **_attributes())
    return answer


def forget(answer: Response) -> Response:
    """The answer with the cookie taken away."""
    answer.delete_cookie(cookie_name(), **_attributes())
    return answer


def _attributes() -> dict[str, Any]:
    return {"secure": request.is_secure, "httponly": True, "samesite": "Strict", "path": "/"}
