"""Routes of /v1/tokens."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service.api import paging
from service.api.auth import OWNER
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database
from service.domain.instants import to_text
from service.domain.tokens import Token
from service.schemas.paging import PageQuery
from service.schemas.tokens import TokenPage, TokenSchema
from service.usecases import tokens

INSTANTS = ("created_at", "expires_at", "last_used_at", "revoked_at")
routes = Routes("tokens")


@routes.get("/v1/tokens", allow=OWNER, query=PageQuery, answers={200: Answer(TokenPage, headers=("Link",))})
def list_tokens(query: Mapping[str, Any]) -> Response:
    """List all tokens, including revoked ones; the secrets are not stored and cannot be read back."""
    with database().reading() as store:
        found = store.tokens.page(after=paging.after(query, str, str), limit=query["limit"] + 1)
    return paging.page(found, query, key=lambda token: (to_text(token.created_at), token.id), show=shown)


@routes.post("/v1/tokens", allow=OWNER, body=TokenSchema, answers={201: TokenSchema})
def create_token(body: Mapping[str, Any]) -> tuple[dict[str, Any], int]:
    """Create a token; its text appears in this answer only."""
    with database().writing() as store:
        token, text = tokens.create(store, **body, actor=actor())
    return {**shown(token), "token": text}, 201


@routes.delete("/v1/tokens/{token_id}", allow=OWNER, answers={204: None})
def revoke_token(token_id: str) -> tuple[None, int]:
    """Revoke a token, effective at once."""
    with database().writing() as store:
        tokens.revoke(store, token_id, actor=actor())
    return None, 204


def shown(token: Token) -> dict[str, Any]:
    """The token as JSON, without its secret."""
    return {
        "id": token.id,
        "name": token.name,
        "role": token.role,
        "units_shown": token.units_shown,
        "technician": token.technician,
        **{name: at and to_text(at) for name in INSTANTS for at in [getattr(token, name)]},
    }
