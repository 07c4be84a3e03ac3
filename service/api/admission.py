"""Decides on a request by its header alone, so that a body is read only from a caller who may send it."""

from collections.abc import Callable
from typing import Any

from flask import Flask, Response, request
from werkzeug.exceptions import RequestEntityTooLarge

from service.api.endpoint import Operation
from service.api.state import state


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
    if isinstance(operation, Operation):
        operation.admit(request.view_args or {})
        largest = operation.largest_body
    if (request.content_length or 0) > largest:
        raise RequestEntityTooLarge()
    return largest
