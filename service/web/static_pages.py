"""The files that every page needs."""

from flask import Response

from service.api.auth import OPEN
from service.web import assets
from service.web.assets import served
from service.web.page import Pages

pages = Pages("files")


@pages.get("/assets/<version>/<name>", allow=OPEN)
def asset(version: str, name: str) -> Response:
    """A file under the version of all files; an older page gets what is served now, and keeps it for no other."""
    return served(name) if version == assets.version() else served(name, caching="no-cache")


@pages.get("/manifest.webmanifest", allow=OPEN)
def manifest() -> Response:
    """What a phone needs to put the pages on its home screen."""
    return served("manifest.webmanifest", caching="no-cache")
