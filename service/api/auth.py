"""Authentication and authorisation.

A token comes as `Authorization: Bearer <token>`, or as the password of HTTP Basic under any user name, so that a
calendar program or a browser can subscribe. Nothing here is a cookie and every change needs a body type or a method
that a foreign page cannot send unasked, so a browser that remembers Basic credentials opens no door to other sites.
"""

import base64
import binascii

from flask import g, request
from werkzeug.datastructures import WWWAuthenticate
from werkzeug.exceptions import Forbidden, Unauthorized

from service.api.state import Caller, database
from service.domain.tokens import ROLES
from service.usecases import tokens

OPEN: frozenset[str] = frozenset()
EVERYONE = frozenset(ROLES)
OFFICE = frozenset({"dispatcher", "owner"})
OWNER = frozenset({"owner"})
CHALLENGES = (WWWAuthenticate("bearer", {"realm": "glycol-fleet"}), WWWAuthenticate("basic", {"realm": "glycol-fleet"}))


def admit(allowed: frozenset[str]) -> Caller:
    """The caller, kept for the request; 401 for an unknown caller, 403 for a role not allowed."""
    caller = _caller()
    g.caller = caller
    if caller.role not in allowed:
        raise Forbidden(f"A {caller.role} may not do this; it is for: {', '.join(sorted(allowed))}.")
    return caller


def _caller() -> Caller:
    shown = shown_token(request.headers.get("Authorization", ""))
    if shown is None:
        raise Unauthorized(www_authenticate=CHALLENGES)
    with database().reading() as store:
        token = tokens.recognise(store, shown)
    if token is None:
        raise Unauthorized("The token is unknown, or has been revoked.", www_authenticate=CHALLENGES)
    return Caller(token_id=token.id, name=token.name, role=token.role, units_shown=token.units_shown)


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
    except (binascii.Error, UnicodeDecodeError):
        return None
