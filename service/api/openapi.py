"""The OpenAPI 3.1 document, made from the routes and their schemas."""

from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from typing import Any

import orjson
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Response
from marshmallow import Schema, validate

from service import __version__
from service.api import docs, examples
from service.api.auth import ALL_ROLES, OPEN
from service.api.endpoint import PATH_PARAMETER, Answer, Operation, Routes
from service.api.errors import BY_STATUS, KINDS, MEDIA_TYPE
from service.domain.errors import MOST_FAULTS
from service.domain.instants import FIRST_YEAR, LAST_YEAR
from service.rendering.guide import reference
from service.schemas.strict_json import LARGEST_INTEGER

JSON = "application/json"
TEXT = {"type": "string"}
DESCRIPTION = (
    "A fleet of beer-line glycol units: what is installed, what was done and measured, and what is due. "
    "A physical value is always number and unit, such as `28 degF`; instants are RFC 3339 with offset; "
    "a change needs `If-Match`. Refusals are problem documents (RFC 9457), whose types are:\n\n"
    + "\n".join(f"* `/problems/{kind.name}` ({kind.status}): {kind.meaning}" for kind in KINDS)
)
FAULT = {
    "type": "object",
    "required": ["field", "value", "message"],
    "properties": {
        "field": {"type": "string", "description": "where, such as readings.0.value; `body` is the whole body"},
        "value": {"description": "what was given, shortened when long"},
        "message": {"type": "string", "description": "what would be right"},
    },
}
PROBLEM = {
    "type": "object",
    "required": ["type", "title", "status", "detail", "instance"],
    "properties": {
        "type": {"type": "string", "format": "uri-reference", "examples": ["/problems/invalid"]},
        "title": TEXT,
        "status": {"type": "integer"},
        "detail": TEXT,
        "instance": {"type": "string", "format": "uri-reference", "description": "the request's id, as in the log"},
        "errors": {"type": "array", "maxItems": MOST_FAULTS, "items": {"$ref": "#/components/schemas/Fault"}},
    },
}
HEADERS = {
    "X-Request-ID": ("the request's id, made by the server", {**TEXT, "pattern": "^[A-Za-z0-9._~-]{1,64}$"}),
    "ETag": ("the record's version, for If-Match", {**TEXT, "examples": ['"3"']}),
    "Link": ('the next page, rel="next"; absent on the last', TEXT),
    "Location": ("where the new record is", {**TEXT, "format": "uri-reference"}),
    "Retry-After": ("seconds to wait before trying again", {"type": "string", "pattern": "^[0-9]+$"}),
    "WWW-Authenticate": ("how to say who calls", TEXT),
}
OF_PROBLEM = {401: ("WWW-Authenticate",), 429: ("Retry-After",), 503: ("Retry-After",)}
SUCCESS = {200: "As asked", 201: "Recorded"}
PATH_INTEGER = {"type": "integer", "minimum": 0, "maximum": LARGEST_INTEGER}
PATH_SCHEMAS = {
    "year": {"type": "integer", "minimum": FIRST_YEAR, "maximum": LAST_YEAR},
    "page": {**TEXT, "enum": list(docs.PAGES)},
}
OPTIONAL_HEADERS = frozenset({"Link"})
IF_MATCH = {
    "in": "header",
    "name": "If-Match",
    "required": True,
    "description": "the ETag last read, or *",
    "schema": {**TEXT, "pattern": r'^(?:\*|"[0-9]{1,18}")$', "examples": ['"3"']},
}
IF_NONE_MATCH = {
    "in": "header",
    "name": "If-None-Match",
    "required": False,
    "description": "an ETag read before: 304 while it still holds",
    "schema": TEXT,
}


def document(resources: Iterable[Routes]) -> dict[str, Any]:
    """The document of these routes, of plain dicts, lists and scalars; the same on every interpreter."""
    resources = tuple(resources)
    plugin = MarshmallowPlugin(schema_name_resolver=component_name)
    spec = APISpec("glycol-fleet", __version__, "3.1.0", plugins=[plugin], info={"description": DESCRIPTION})
    converter: Any = plugin.converter
    converter.add_attribute_function(own_schema)
    converter.add_attribute_function(exclusive_limits)
    _add_components(spec, {status for _, operation in _all(resources) for status in _problems_of(operation)})
    for routes, operation in _all(resources):
        spec.path(
            operation.template, operations={operation.method.lower(): _described(converter, routes.name, operation)}
        )
    for (schema, *_), name in converter.refs.items():
        if name == component_name(schema):  # a patch may leave out what these rules require
            spec.components.schemas[name].update(_also(getattr(schema, "more_json_schema", {})))
    described = spec.to_dict() | {"tags": [{"name": routes.name} for routes in resources if routes.operations]}
    plain: dict[str, Any] = orjson.loads(orjson.dumps(described))
    return plain


def routes_for(resources: Iterable[Routes]) -> Routes:
    """The routes that serve the document of these resources and of themselves, for machines and for people."""
    routes = Routes("openapi")
    described = (*resources, routes)

    @cache
    def written() -> bytes:
        return orjson.dumps(document(described))

    @cache
    def page() -> bytes:
        return reference.render(document(described), docs.titles())

    this = Answer(None, "This document", media={JSON: {"type": "object"}})

    @routes.get("/openapi.json", allow=OPEN, answers={200: this})
    def openapi_document() -> Response:
        """Get the OpenAPI document."""
        return Response(written(), content_type=JSON)

    @routes.get("/docs/api", allow=OPEN, answers={200: docs.PAGE})
    def api_reference() -> Response:
        """Get the API reference as a page."""
        return Response(page(), content_type=docs.HTML)

    return routes


def component_name(schema: type[Schema] | Schema) -> str:
    """A schema's name among the components; with fields that are optional in changes only, it is a patch."""
    cls = schema if isinstance(schema, type) else type(schema)
    name = cls.__name__.removesuffix("Schema").removesuffix("Patch")
    return f"{name}Patch" if getattr(schema, "partial", None) else name


def own_schema(converter: Any, field: Any, ret: Mapping[str, Any], **_: Any) -> dict[str, Any]:
    """The JSON schema that a field of ours brings along; that of a measure is a component."""
    own: dict[str, Any] = dict(getattr(field, "json_schema", None) or {})
    converter.spec.components.schemas.update(getattr(field, "components", {}))
    if own and field.allow_none:
        own = _or_null(own)
    if "stays" in field.metadata and field.parent.partial:
        own["readOnly"] = True
    return own | {name: ret[name] for name in ("description", "examples", "default") if name in field.metadata}


def _or_null(own: dict[str, Any]) -> dict[str, Any]:
    """Codes and objects stay a part of their own, for which generators make one type with a name."""
    if "$ref" in own or "enum" in own:
        return {"anyOf": [own, {"type": "null"}]}
    if "anyOf" in own:
        return own | {"anyOf": [*own["anyOf"], {"type": "null"}]}
    return own | {"type": [own["type"], "null"]}


def _also(more: Mapping[str, Any]) -> dict[str, Any]:
    """What else holds of an object. Choices stand in `allOf`: beside properties, generators take them for types."""
    choices = [{key: more[key]} for key in ("anyOf", "oneOf") if key in more]
    others = {key: value for key, value in more.items() if key not in ("anyOf", "oneOf")}
    return others | ({"allOf": [*more.get("allOf", ()), *choices]} if choices else {})


def exclusive_limits(_converter: Any, field: Any, **_: Any) -> dict[str, Any]:
    """Limits that do not count in, which the plugin writes as if they did."""
    limits = {}
    for rule in field.validators:
        if isinstance(rule, validate.Range) and rule.min is not None and not rule.min_inclusive:
            limits["exclusiveMinimum"] = rule.min
        if isinstance(rule, validate.Range) and rule.max is not None and not rule.max_inclusive:
            limits["exclusiveMaximum"] = rule.max
    return limits


def _all(resources: Iterable[Routes]) -> Iterator[tuple[Routes, Operation]]:
    return ((routes, operation) for routes in resources for operation in routes.operations)


def _add_components(spec: APISpec, statuses: Iterable[int]) -> None:
    spec.components.schema("Fault", FAULT)
    spec.components.schema("Problem", PROBLEM)
    for name, (description, schema) in HEADERS.items():
        required = name not in OPTIONAL_HEADERS
        spec.components.header(name, {"description": description, "schema": schema, "required": required})
    for status in sorted(statuses):
        content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
        headers = _headers(OF_PROBLEM.get(status, ()))
        described = {"description": BY_STATUS[status].title, "headers": headers, "content": content}
        spec.components.response(_problem_name(status), described)
    spec.components.security_scheme("bearer", {"type": "http", "scheme": "bearer"})
    spec.components.security_scheme(
        "basic", {"type": "http", "scheme": "basic", "description": "any user name, the token as the password"}
    )


def _problem_name(status: int) -> str:
    return "".join(word.capitalize() for word in BY_STATUS[status].name.split("-"))


def _headers(names: Iterable[str]) -> dict[str, Any]:
    return {name: {"$ref": f"#/components/headers/{name}"} for name in ("X-Request-ID", *names)}


def _problems_of(operation: Operation) -> list[int]:
    takes_body = operation.body is not None or bool(operation.body_media)
    because = {
        400: True,
        401: bool(operation.allow),
        403: bool(operation.allow) and operation.allow != ALL_ROLES,
        404: "{" in operation.path,
        406: any(answer.media and answer.schema for answer in operation.answers.values()),
        409: operation.method != "GET",
        412: operation.if_match,
        413: takes_body,
        415: takes_body,
        422: True,
        428: operation.if_match,
        429: bool(operation.allow),
        503: bool(operation.allow),
    }
    return [status for status, given in because.items() if given and status not in operation.answers]


def _described(converter: Any, resource: str, operation: Operation) -> dict[str, Any]:
    summary, _, description = (operation.view.__doc__ or "").partition("\n")
    described: dict[str, Any] = {
        "operationId": operation.view.__name__,
        "tags": [resource],
        "summary": summary.strip(),
        "parameters": list(_parameters(converter, operation)),
        "responses": _responses(converter, operation),
    }
    if description.strip():
        described["description"] = " ".join(description.split())
    if operation.allow:
        described |= {"security": [{"bearer": []}, {"basic": []}], "x-roles": sorted(operation.allow)}
    if body := _body(converter, operation):
        described["requestBody"] = {"required": True, "content": body}
    return described


def _parameters(converter: Any, operation: Operation) -> Iterator[dict[str, Any]]:
    for name, kind in PATH_PARAMETER.findall(operation.path):
        schema = PATH_SCHEMAS.get(name) or (PATH_INTEGER if kind else {**TEXT, "minLength": 1})
        yield {"in": "path", "name": name, "required": True, "schema": schema}
    if operation.query is not None:
        yield from converter.schema2parameters(operation.query, location="query")
    if operation.if_match:
        yield IF_MATCH
    if _is_tagged(operation):
        yield IF_NONE_MATCH
    for name, description in operation.headers.items():
        schema = {**TEXT, "minLength": 1, "maxLength": 255, "examples": ["0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"]}
        yield {"in": "header", "name": name, "required": False, "description": description, "schema": schema}


def _body(converter: Any, operation: Operation) -> dict[str, Any]:
    content: dict[str, Any] = {}
    if operation.body is not None:
        content[JSON] = {"schema": converter.resolve_nested_schema(operation.body)}
        if (example := examples.body_of(operation)) is not None:
            content[JSON]["example"] = example
    return content | {name: {"schema": schema} for name, schema in operation.body_media.items()}


def _responses(converter: Any, operation: Operation) -> dict[str, Any]:
    described = {str(status): _answer(converter, status, answer) for status, answer in operation.answers.items()}
    if _is_tagged(operation):
        described["304"] = {"description": "Not changed since", "headers": _headers(["ETag"])}
    for status in _problems_of(operation):
        described[str(status)] = {"$ref": f"#/components/responses/{_problem_name(status)}"}
    return described


def _is_tagged(operation: Operation) -> bool:
    return operation.method == "GET" and any("ETag" in answer.headers for answer in operation.answers.values())


def _answer(converter: Any, status: int, answer: Answer) -> dict[str, Any]:
    content: dict[str, Any] = {}
    if answer.schema is not None:
        content[JSON] = {"schema": converter.resolve_nested_schema(answer.schema)}
        if answer.example is not None:
            content[JSON]["example"] = answer.example
    content |= {name: {"schema": schema} for name, schema in answer.media.items()}
    described = {"description": answer.description or SUCCESS.get(status, "Done"), "headers": _headers(answer.headers)}
    return described | ({"content": content} if content else {})
