"""Declares routes: each with its inputs, its answers and the roles that may call it."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import islice
from operator import attrgetter
from typing import Any, TypeVar

from flask import Flask, Response, g, request
from marshmallow import Schema, fields
from werkzeug.exceptions import NotFound

from service.api import auth, once, preconditions, wire
from service.api.state import actor, database, now, state
from service.domain.audit import Actor
from service.domain.errors import MOST_FAULTS, Fault, Invalid
from service.schemas.names import names_in
from service.schemas.readable import readable
from service.schemas.reading import read
from service.settings import Settings
from service.usecases.record.named import KIND_OF, unknown_names
from service.usecases.system import Store

View = TypeVar("View", bound=Callable[..., Any])
PATH_PARAMETER = re.compile(r"{(\w+)(?::(int))?}")
MAX_BODY: Callable[[Settings], int] = attrgetter("max_body")
NO_PARAMETERS = "this path takes no parameters"


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer of a route, as documented. `media` holds further forms: media type -> JSON schema."""

    schema: type[Schema] | None = None
    description: str = ""
    media: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    headers: tuple[str, ...] = ()
    example: Any = None


@dataclass(frozen=True, slots=True)
class Beside:
    """What cannot be true in the readable rest of a body that is refused: `faults` finds it, pure of what is stored.

    `frame` has a value for each field that is needed.
    """

    faults: Callable[[Store, Actor, Mapping[str, Any]], Iterable[Fault]]
    frame: Mapping[str, Any]


Answers = Mapping[int, type[Schema] | Answer | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One method on one path; the path is written as OpenAPI does, `{name}` or `{name:int}`."""

    method: str
    path: str
    view: Callable[..., Any]
    allow: frozenset[str]
    answers: Mapping[int, Answer]
    query: Schema | None = None
    body: Schema | None = None
    if_match: bool = False
    body_media: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    most: Callable[[Settings], int] = MAX_BODY
    body_example: Any = None
    beside: Beside | None = None
    headers: Mapping[str, str] = field(default_factory=dict)

    @property
    def template(self) -> str:
        """The path with plain names: `/v1/units/{tag}`."""
        return PATH_PARAMETER.sub(r"{\1}", self.path)

    @property
    def rule(self) -> str:
        """The path as Flask routes it."""
        return PATH_PARAMETER.sub(lambda m: f"<int:{m[1]}>" if m[2] else f"<{m[1]}>", self.path)

    @property
    def largest_body(self) -> int:
        """The most that this operation reads [bytes]."""
        return self.most(state().settings)

    def admit(self, path: Mapping[str, Any]) -> None:
        """What can be said before the body is read: 404 for an impossible path, 401 and 403 for the caller."""
        g.route = self.template
        _require_storable(path)
        if self.allow:
            auth.admit(self.allow)

    def call(self, **path: Any) -> Response:
        """Answer one request."""
        self.admit(path)
        if self.if_match:
            preconditions.expected()
        given = self._query()
        if self.body is None:
            return _response(self.view(**path, **given))
        g.document = wire.json_body()
        try:
            given["body"] = self._body(self.body)
            return _response(self.view(**path, **given))
        except Invalid as refusal:
            raise _with_unknown_names(refusal, self.body) from None

    def _body(self, schema: Schema) -> dict[str, Any]:
        """The body read; Invalid with all its faults, a missing id among them."""
        try:
            return read(schema, g.document)
        except Invalid as refusal:
            what = self.path.rpartition("/")[2].removesuffix("s")
            missing = once.without_id(g.document, what) if once.KEY in self.headers else []
            raise self._with_the_rest(refusal.with_more(missing)) from None

    def _with_the_rest(self, refusal: Invalid) -> Invalid:
        """The refusal, and what cannot be true in what can be read."""
        if self.beside is None or self.body is None or refusal.more:
            return refusal
        at = {"arrived_at": now()} if "arrived_at" in self.body.fields else {}
        rest = readable(self.body, g.document, refusal.faults, {**self.beside.frame, **at})
        if rest is None:
            return refusal
        with database().reading() as store:
            found = list(rest.faults(self.beside.faults(store, actor(), rest.data)))
        return Invalid([*refusal.faults, *found])

    def _query(self) -> dict[str, Any]:
        if self.query is not None:
            return {"query": read(self.query, query_parameters(self.query) if request.query_string else {})}
        if request.query_string:
            raise Invalid(Fault(name, value, NO_PARAMETERS) for name, value in request.args.items())
        return {}


def _with_unknown_names(refusal: Invalid, schema: Schema) -> Invalid:
    """The refusal, and what else the document names that is not recorded."""
    refused = {fault.field for fault in refusal.faults}
    named = (each for each in names_in(schema, g.document) if each[1] in KIND_OF and each[0] not in refused)
    asked = list(islice(named, MOST_FAULTS))
    if not asked:
        return refusal
    with database().reading() as store:
        return refusal.with_more(unknown_names(store, asked))


class Routes:
    """The routes of one resource."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.operations: list[Operation] = []

    def get(self, path: str, *, allow: frozenset[str], answers: Answers, **more: Any) -> Callable[[View], View]:
        """Declare a GET; `query` names its schema."""
        return self._declare("GET", path, allow=allow, answers=answers, **more)

    def post(self, path: str, *, allow: frozenset[str], answers: Answers, **more: Any) -> Callable[[View], View]:
        """Declare a POST; `body` names its schema."""
        return self._declare("POST", path, allow=allow, answers=answers, **more)

    def patch(self, path: str, *, allow: frozenset[str], answers: Answers, **more: Any) -> Callable[[View], View]:
        """Declare a PATCH, which needs If-Match by default; `partial` names the fields made optional, True is all."""
        return self._declare("PATCH", path, allow=allow, answers=answers, **{"if_match": True, **more})

    def delete(self, path: str, *, allow: frozenset[str], answers: Answers, **more: Any) -> Callable[[View], View]:
        """Declare a DELETE."""
        return self._declare("DELETE", path, allow=allow, answers=answers, **more)

    def _declare(
        self,
        method: str,
        path: str,
        *,
        query: type[Schema] | None = None,
        body: type[Schema] | None = None,
        partial: bool | tuple[str, ...] = False,
        answers: Answers,
        **more: Any,
    ) -> Callable[[View], View]:
        def declare(view: View) -> View:
            operation = Operation(
                method=method,
                path=path,
                view=view,
                query=query() if query else None,
                body=_body_schema(body, partial),
                answers={status: _as_answer(given) for status, given in answers.items()},
                **more,
            )
            self.operations.append(operation)
            return view

        return declare


def register(app: Flask, resources: Iterable[Routes]) -> None:
    """Route every operation of every resource."""
    for routes in resources:
        for operation in routes.operations:
            endpoint = f"{routes.name}:{operation.view.__name__}"
            app.add_url_rule(operation.rule, endpoint, operation.call, methods=[operation.method])


def query_parameters(schema: Schema) -> dict[str, Any]:
    """The request's parameters; one given twice is refused unless its field is a list."""
    parameters: dict[str, Any] = {}
    faults = []
    for name, values in request.args.lists():
        listed = isinstance(schema.fields.get(name), fields.List)
        if len(values) > 1 and not listed:
            faults.append(Fault(name, values, "given more than once"))
        faults += [Fault(name, value, wire.TEXT_RULE) for value in (name, *values) if not wire.storable(value)]
        parameters[name] = values if listed else values[0]
    if faults:
        raise Invalid(faults)
    return parameters


def _require_storable(path: Mapping[str, Any]) -> None:
    """A limit in the rule itself would make it a wrong method (405) where another method has the same path."""
    if not all(
        wire.storable(part) if isinstance(part, str) else part <= wire.LARGEST_INTEGER for part in path.values()
    ):
        raise NotFound()


def _body_schema(schema: type[Schema] | None, partial: bool | tuple[str, ...]) -> Schema | None:
    if schema is None:
        return None
    return schema(partial=partial) if partial else schema()


def _as_answer(given: type[Schema] | Answer | None) -> Answer:
    return given if isinstance(given, Answer) else Answer(given)


def _response(given: Any) -> Response:
    if isinstance(given, Response):
        return given
    return wire.answer(*given) if isinstance(given, tuple) else wire.answer(given)
