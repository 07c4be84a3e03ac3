"""Routes of /docs: the guide. The API reference beside it is served by `openapi`, which knows the document."""

from collections.abc import Mapping
from functools import cache

from flask import Response

from service.api.auth import OPEN
from service.api.endpoint import Answer, Routes
from service.domain.errors import NotFound
from service.folders import shipped
from service.rendering.guide import pages, reference

routes = Routes("docs")
PAGES = ("index", "owner", "dispatcher", "technician", "spreadsheets", "clients", "operation", "moving")
HTML = "text/html; charset=utf-8"
PAGE = Answer(None, "A page", media={"text/html": {"type": "string"}})


@routes.get("/docs", allow=OPEN, answers={200: PAGE})
def guide() -> Response:
    """Get the first page of the guide."""
    return guide_page("index")


@routes.get("/docs/{page}", allow=OPEN, answers={200: PAGE})
def guide_page(page: str) -> Response:
    """Get a page of the guide; `/docs/api` describes every operation."""
    if page not in PAGES:
        raise NotFound("page of the guide", page)
    return Response(pages.render(page, texts()[page], titles()), content_type=HTML)


@cache
def texts() -> Mapping[str, str]:
    """The Markdown of each page by its name, in order."""
    folder = shipped("openapi") / "guide"
    return {name: (folder / f"{name}.md").read_text(encoding="utf-8") for name in PAGES}


def titles() -> list[tuple[str, str]]:
    """(name, title) of all pages, the reference last."""
    return [*((name, pages.title_of(text)) for name, text in texts().items()), (reference.NAME, reference.TITLE)]
