"""A one-time link that signs a browser in, with its QR code for the terminal."""

from io import StringIO

import segno

from service.cli.database import token_fields
from service.cli.opened import actor, database, settings
from service.domain.sessions import LINK_LIFE
from service.settings import Settings
from service.usecases import sessions, tokens


def create(address: str | None, **fields: str | None) -> str:
    """Create a token and a link that signs in with it; the text to print. The token's own text is kept by nobody."""
    base = address or usual_address(settings())
    wanted = token_fields(**fields)  # type: ignore[arg-type]  # the command has these options
    with database() as opened, opened.writing() as store:
        token, _ = tokens.create(store, **wanted, actor=actor())
        secret = sessions.make_link(store, actor(), token.id)
    link = f"{base.rstrip('/')}/link/{secret}"
    minutes = int(LINK_LIFE.total_seconds() // 60)
    return f"{qr_code(link)}\n{link}\nIt works once, within {minutes} minutes. Token id: {token.id}"


def usual_address(chosen: Settings) -> str:
    """Where the server listens by the settings."""
    scheme = "http" if chosen.tls_certificate is None else "https"
    host = next(iter(chosen.allowed_hosts), chosen.host)
    return f"{scheme}://{host}:{chosen.port}"


def qr_code(text: str) -> str:
    """The text as a QR code of characters, of error correction M: it is read from a screen."""
    shown = StringIO()
    segno.make(text, error="m", boost_error=False, micro=False).terminal(shown, compact=True)
    return shown.getvalue()
