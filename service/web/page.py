"""Declares pages: each with its path and the roles that may open it. Faults become pages too."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar
from urllib.parse import urlsplit

from flask import Flask, Response, g, request
from werkzeug.exceptions import NotFound, Unauthorized

from service.api import errors
from service.api.state import state
from service.web import guard
from service.web.render import show

View = TypeVar("View", bound=Callable[..., Any])
JSON = "application/json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One method on one path, written as Flask routes it."""

    method: str
    path: str
    view: Callable[..., Any]
    allow: frozenset[str]
    takes_file: bool = False
    most: int | None = None

    @property
    def largest_body(self) -> int:
        """The most that this page reads [bytes]."""
        settings = state().settings
        if self.most is not None:
            return self.most
        return settings.max_import if self.takes_file else settings.max_body

    def admit(self, path: Mapping[str, Any]) -> None:  # noqa: ARG002 - as an operation of the API
        """Refuse by the header alone: what another site asks for, who has no session, who has another role."""
        g.route = self.path
        g.own_headers = {**guard.HEADERS, "Cache-Control": "no-store"}
        guard.require_same_origin()
        if self.allow:
            guard.admit(self.allow)

    def call(self, **path: Any) -> Response:
        """Answer one request."""
        try:
            self.admit(path)
            request.max_content_length = self.largest_body
            answer: Response = self.view(**path)
            return answer
        except Unauthorized as refusal:
            return _signed_out(refusal)
        except Exception as refusal:
            if wants_json():
                raise
            return _refused(refusal)


class Pages:
    """The pages of one subject."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.all: list[Page] = []

    def get(self, path: str, *, allow: frozenset[str]) -> Callable[[View], View]:
        """Declare a page."""
        return self._declare("GET", path, allow)

    def post(
        self, path: str, *, allow: frozenset[str], takes_file: bool = False, most: int | None = None
    ) -> Callable[[View], View]:
        """Declare what a form sends: a text, a file to import, or at most so many bytes."""
        return self._declare("POST", path, allow, takes_file=takes_file, most=most)

    def _declare(self, method: str, path: str, allow: frozenset[str], **more: Any) -> Callable[[View], View]:
        def declare(view: View) -> View:
            self.all.append(Page(method=method, path=path, view=view, allow=allow, **more))
            return view

        return declare


def register(app: Flask, subjects: Iterable[Pages]) -> None:
    """Route every page of every subject."""
    for pages in subjects:
        for page in pages.all:
            endpoint = f"web.{pages.name}:{page.view.__name__}"
            app.add_url_rule(page.path, endpoint, page.call, methods=[page.method])
    app.register_error_handler(NotFound, _nowhere)


def wants_json() -> bool:
    """Whether a program asks, which wants a problem document and no page: a browser says what it accepts."""
    return not request.accept_mimetypes or request.accept_mimetypes.best == JSON


def _nowhere(refusal: NotFound) -> Response:
    """A page for a browser that opens an address where nothing is, and a problem document for programs.

    Not by `best`, which puts what is named in most detail first, and Chromium so names a format that is no page.
    """
    accepted = request.accept_mimetypes
    if accepted.quality("text/html") <= accepted.quality(JSON):
        return errors.answer_to(refusal)
    g.own_headers = {**guard.HEADERS, "Cache-Control": "no-store"}
    return _refused(refusal)


def see_other(path: str) -> Response:
    """The answer to a form that was accepted: the page to open next."""
    return Response(status=303, headers={"Location": path})


def _signed_out(refusal: Unauthorized) -> Response:
    """The page for signing in; a link from another site comes without the cookie, so it is opened again from here."""
    if wants_json():
        raise refusal
    if request.method in guard.SAFE and request.headers.get("Sec-Fetch-Site") == "cross-site":
        return show("again.html", again=request.full_path.rstrip("?"))
    return show("sign_in.html", status=401, why=refusal.description or "", fault="")


def _refused(refusal: Exception) -> Response:
    """A page that says what was refused, under the status that the API gives it."""
    problem = errors.answer_to(refusal)
    document, headers = problem.get_json(), dict(problem.headers)
    return show("refused.html", status=problem.status_code, problem=document, before=_page_before(), headers=headers)


def _page_before() -> str:
    """The page of this server from which a form was sent; "" for none."""
    came_from = urlsplit(request.referrer or "")
    own = request.method == "POST" and came_from.netloc == request.host
    return f"/{came_from.path.lstrip('/')}" if own else ""
