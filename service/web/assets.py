"""Style, scripts and fonts, served from memory under an address that changes with their content."""

import gzip
import hashlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import NamedTuple

from flask import Response, g, request

from service.domain.errors import NotFound
from service.web.modules import bundle

FOLDER = Path(__file__).parent / "static"
MEDIA = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".woff2": "font/woff2",
    ".webmanifest": "application/manifest+json",
}
SCRIPTS = ("app.js", "photos.js", "visit.js", "worker.js")
PACKED = (".css", ".js", ".svg")
FOR_A_YEAR = "public, max-age=31536000, immutable"


class Asset(NamedTuple):
    """A file as it is served; `packed` is its content compressed, None where that is of no use."""

    content: bytes
    packed: bytes | None
    media: str


@cache
def assets() -> Mapping[str, Asset]:
    """All files by name; of the scripts those that a page names, each with the modules that it imports in it."""
    files = (path for path in sorted(FOLDER.iterdir()) if path.suffix in MEDIA)
    return {path.name: _asset(path) for path in files if path.suffix != ".js" or path.name in SCRIPTS}


def _asset(path: Path) -> Asset:
    content = bundle(path) if path.name in SCRIPTS else path.read_bytes()
    packed = gzip.compress(content, 9, mtime=0) if path.suffix in PACKED else None
    return Asset(content, packed, MEDIA[path.suffix])


@cache
def version() -> str:
    """What names the content of all files."""
    digest = hashlib.sha256()
    for name, asset in assets().items():
        digest.update(name.encode() + b"\0" + asset.content)
    return digest.hexdigest()[:12]


def address_of(name: str) -> str:
    """The path of a file; KeyError for one that is not there."""
    assets()[name]
    return f"/assets/{version()}/{name}"


def served(name: str, *, caching: str = FOR_A_YEAR) -> Response:
    """A file as an answer, compressed where the browser takes it."""
    asset = assets().get(name)
    if asset is None:
        raise NotFound("file", name)
    g.own_headers = {"Cache-Control": caching, "Cross-Origin-Resource-Policy": "same-origin"}
    if asset.packed is None or request.accept_encodings.quality("gzip") <= 0:
        return Response(asset.content, content_type=asset.media, headers={"Vary": "Accept-Encoding"})
    packed = {"Content-Encoding": "gzip", "Vary": "Accept-Encoding"}
    return Response(asset.packed, content_type=asset.media, headers=packed)
