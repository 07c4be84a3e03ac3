"""The headers of every answer that say what a browser may do with it; those of the server's own refusals included."""

from collections.abc import Mapping

CLOSED = "object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
FOR_DATA = f"default-src 'none'; {CLOSED}"
FOR_PAGES = f"default-src 'none'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; {CLOSED}"
ONLY_HTTPS = "max-age=31536000; includeSubDomains"  # a year


def protecting(*, page: bool, secure: bool) -> Mapping[str, str]:
    """Of a page or of data, over TLS or not: over plain HTTP nothing may be said of it (RFC 6797, 7.2)."""
    return {
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "no-referrer",
        "Content-Security-Policy": FOR_PAGES if page else FOR_DATA,
        **({"Strict-Transport-Security": ONLY_HTTPS} if secure else {}),
    }


def attachment(name: str) -> dict[str, str]:
    """For a file that is saved, not shown; the name holds only letters, digits, dots, hyphens and underscores.

    >>> attachment("pm-list.csv")
    {'Content-Disposition': 'attachment; filename="pm-list.csv"'}
    """
    return {"Content-Disposition": f'attachment; filename="{name}"'}
