"""Authentication and authorisation.

A token comes as `Authorization: Bearer <token>`, or as the password of HTTP Basic under any user name, so that a
calendar program or a browser can subscribe. Nothing here is a cookie and every change needs a body type or a method
that a foreign page cannot send unasked, so a browser that remembers Basic credentials opens no door to other sites.
"""

import base64
import logging

from flask import g, request
from werkzeug.datastructures import WWWAuthenticate
from werkzeug.exceptions import Forbidden, TooManyRequests, Unauthorized

from service.api.limits import network_of
from service.api.state import Caller, actor, database, now, state
from service.domain.errors import Unavailable
from service.domain.tokens import ROLES, Token
from service.usecases import audit, tokens

OPEN: frozenset[str] = frozenset()
ALL_ROLES = frozenset(ROLES)
STAFF = ALL_ROLES - {"reader"}
OFFICE = frozenset({"dispatcher", "owner"})
OWNER = frozenset({"owner"})
logger = logging.getLogger("glycol_fleet.access")
CHALLENGES = (WWWAuthenticate("bearer", {"realm": "glycol-fleet"}), WWWAuthenticate("basic", {"realm": "glycol-fleet"}))


def admit(allowed: frozenset[str]) -> Caller:
    """The caller, kept for the request; 401 for a token that opens nothing, 429 after many of them, 403 by role."""
    token = _known_token()
    g.caller = Caller(token.id, token.name, token.role, token.units_shown, token.technician)
    if ended := token.ended(now()):
        _refused(ended)
        raise Unauthorized("The token is unknown, or has ended.", www_authenticate=CHALLENGES)
    return admit_holder(token, allowed)


def admit_holder(token: Token, allowed: frozenset[str]) -> Caller:
    """The holder of a valid token as the caller, kept for the request; 403 by role."""
    caller = g.caller = Caller(token.id, token.name, token.role, token.units_shown, token.technician)
    _used(token)
    if caller.role not in allowed:
        _refused("role")
        raise Forbidden(f"A {caller.role} may not do this; it is for: {', '.join(sorted(allowed))}.")
    return caller


def _known_token() -> Token:
    shown = shown_token(request.headers.get("Authorization", ""))
    if shown is None:
        g.reason = "no token"
        raise Unauthorized(www_authenticate=CHALLENGES)
    return holder_of(shown)


def holder_of(shown: str) -> Token:
    """The token with this text, ended or not; 401 where there is none, 429 after many of them from one address."""
    attempts, address = state().attempts, network_of(request.remote_addr)
    if seconds := attempts.wait(address, shown, now()):
        raise TooManyRequests(retry_after=seconds)
    with database().reading() as store:
        token = tokens.known(store, shown)
    if token is None:
        attempts.failed(address, now())
        g.reason = "unknown token"
        raise Unauthorized("The token is unknown, or has ended.", www_authenticate=CHALLENGES)
    attempts.opened(address, shown)
    return token


def _refused(reason: str) -> None:
    """Record the refusal of a token that is ours. What it costs is bounded, and the refusal stands in any case."""
    g.reason = reason
    route = f"{request.method} {g.route}"
    if not state().refusals.is_new(g.caller.token_id, route, reason, now()):
        return
    try:
        with database().writing() as store:
            audit.refused(store, actor(), route, {"reason": reason, "address": request.remote_addr})
    except Unavailable as fault:
        logger.warning("a refusal is in this log only: %s", fault)


def _used(token: Token) -> None:
    if not state().uses.is_due(token.id, token.last_used_at, now()):
        return
    try:
        with database().writing() as store:
            store.tokens.used(token.id, now())
    except Unavailable as fault:
        logger.warning("the use of a token is not recorded: %s", fault)


def shown_token(authorization: str) -> str | None:
    """The token in an Authorization header, None when it holds none.

    >>> shown_token("Bearer gf_1_x"), shown_token("Basic Y2FsZW5kYXI6Z2ZfMV94")
    ('gf_1_x', 'gf_1_x')
    """
    scheme, _, rest = authorization.partition(" ")
    if scheme.lower() == "bearer":
        return rest.strip() or None
    if scheme.lower() != "basic":
        return None
    try:
        return base64.b64decode(rest.strip(), validate=True).decode().partition(":")[2] or None
    except ValueError:  # no Base64, or no UTF-8 in it
        return None
