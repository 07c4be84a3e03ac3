"""Decides on a request by its header alone, so that a body is read only from a caller who may send it."""

from collections.abc import Callable, Mapping
from typing import Any, Protocol, runtime_checkable

from flask import Flask, Response, request
from werkzeug.exceptions import RequestEntityTooLarge

from service.api.state import state


@runtime_checkable
class Admitting(Protocol):
    """What a route is bound to that decides by the header alone: an operation of the API, or a page."""

    @property
    def largest_body(self) -> int:
        """The most that it reads [bytes]."""

    def admit(self, path: Mapping[str, Any]) -> None:
        """Raise what refuses the request."""


def admission(app: Flask) -> Callable[[dict[str, Any]], int | Response]:
    """Of a WSGI environ without its body: the most bytes that the body may have, or the refusal as an answer.

    A refusal is logged and counted like any answer of the application. An admitted request is checked again by the
    application: a token may be revoked while the body arrives.
    """

    def admit(environ: dict[str, Any]) -> int | Response:
        with app.request_context(environ):
            try:
                app.preprocess_request()
                return _largest_body(app)
            except Exception as refusal:
                return app.process_response(app.make_response(app.handle_user_exception(refusal)))

    return admit


def _largest_body(app: Flask) -> int:
    if request.routing_exception is not None:
        raise request.routing_exception
    operation = getattr(app.view_functions[request.endpoint or ""], "__self__", None)
    largest = state().settings.max_body
    if isinstance(operation, Admitting):
        operation.admit(request.view_args or {})
        largest = operation.largest_body
    if (request.content_length or 0) > largest:
        raise RequestEntityTooLarge()
    return largest
