"""The files that every page needs, and the worker that keeps pages for when there is no connection."""

import json

from flask import Response, g

from service.api.auth import OPEN
from service.web import assets, guard
from service.web.assets import address_of, served
from service.web.page import Pages
from service.web.render import show

KEPT = ("pages.css", "app.js", "visit.js", "icon.svg", "open-sans.woff2")
pages = Pages("files")


@pages.get("/assets/<version>/<name>", allow=OPEN)
def asset(version: str, name: str) -> Response:
    """A file under the version of all files; an older page gets what is served now, and keeps it for no other."""
    return served(name) if version == assets.version() else served(name, caching="no-cache")


@pages.get("/manifest.webmanifest", allow=OPEN)
def manifest() -> Response:
    """What a phone needs to put the pages on its home screen."""
    return served("manifest.webmanifest", caching="no-cache")


@pages.get("/sw.js", allow=OPEN)
def worker() -> Response:
    """The worker, with the version and the files that it keeps before it."""
    listed = ["/offline", *(address_of(name) for name in KEPT)]
    head = f"const VERSION = {json.dumps(assets.version())}, ASSETS = {json.dumps(listed)};\n"
    g.own_headers = {**guard.HEADERS, "Cache-Control": "no-cache"}
    return Response(head.encode() + assets.assets()["worker.js"].content, content_type="text/javascript; charset=utf-8")


@pages.get("/offline", allow=OPEN)
def offline() -> Response:
    """What is shown in place of a page that was not kept."""
    return show("offline.html")
