"""The API reference as one page, made from the OpenAPI document: every operation and every object."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any

import orjson
from markupsafe import Markup, escape

from service.rendering.guide.pages import markdown, templates

NAME, TITLE = "api", "API reference"
TITLES = {
    "fleet": "Customers, technicians, sites",
    "pm_list": "PM list",
    "summaries": "Service summaries",
    "transfer": "Import and export",
    "audit": "Audit trail",
    "docs": "Guide",
    "health": "Health, metrics, problem types",
    "openapi": "OpenAPI document",
}
WORDS = {"string": "text", "integer": "whole number", "boolean": "true or false", "null": "null"}
FORMATS = {"date": "date", "date-time": "instant", "uuid": "UUID"}
SPANS = (("minLength", "maxLength", " characters"), ("minItems", "maxItems", " entries"), ("minimum", "maximum", ""))
LIMITS = {"pattern": "matches `{}`", "exclusiveMinimum": "more than {:g}", "exclusiveMaximum": "less than {:g}"}
ONLY = {"readOnly": "in answers only", "writeOnly": "in requests only"}
METHODS = ("get", "post", "patch", "delete")
Json = Mapping[str, Any]
Row = dict[str, Any]


def render(document: Json, titles: Sequence[tuple[str, str]]) -> bytes:
    """The page of this document; `titles` are (name, title) of all pages, for the links at the top."""
    page = templates().get_template("reference.html")
    return page.render(
        name=NAME,
        title=TITLE,
        titles=titles,
        description=Markup(markdown().render(document["info"]["description"])),  # noqa: S704 - our own text
        groups=[_group(document, tag["name"]) for tag in document["tags"]],
        objects=[_object(name, schema) for name, schema in sorted(document["components"]["schemas"].items())],
    ).encode()


def _group(document: Json, tag: str) -> Row:
    found = [
        _operation(document, path, method, item[method])
        for path, item in document["paths"].items()
        for method in METHODS
        if method in item and tag in item[method]["tags"]
    ]
    return {"name": tag, "title": TITLES.get(tag, tag.replace("_", " ").capitalize()), "operations": found}


def _operation(document: Json, path: str, method: str, given: Json) -> Row:
    roles = given.get("x-roles", ())
    return {
        "id": given["operationId"],
        "method": method.upper(),
        "path": path,
        "summary": _inline(given["summary"]),
        "description": _inline(given.get("description", "")),
        "roles": ", ".join(roles) if roles else "everyone, without a token",
        "parameters": [_parameter(each) for each in given["parameters"]],
        "bodies": list(_bodies(document, given.get("requestBody", {}))),
        "answers": [_answer(status, each) for status, each in given["responses"].items() if "$ref" not in each],
        "refusals": Markup(", ").join(
            _refusal(document, status, each) for status, each in given["responses"].items() if "$ref" in each
        ),
    }


def _inline(text: str) -> Markup:
    return Markup(markdown().renderInline(text))  # noqa: S704 - our own text, and raw HTML in it is escaped


def _parameter(given: Json) -> Row:
    row = _row(given["name"], given["schema"] | {"description": given.get("description", "")}, given["required"])
    return row | {"kind": Markup("{}, in the {}").format(row["kind"], given["in"])}


def _bodies(document: Json, given: Json) -> Iterator[Row]:
    for media, content in given.get("content", {}).items():
        schema = content["schema"]
        whole = document["components"]["schemas"][_name_of(schema)] if "$ref" in schema else {}
        rows = [row for row in _rows(whole) if not row["answer_only"]]
        yield {"media": media, "kind": _kind(schema), "rows": rows, "example": _example(content)}


def _answer(status: str, given: Json) -> Row:
    contents = [
        {"media": media, "kind": _kind(content["schema"]), "example": _example(content)}
        for media, content in given.get("content", {}).items()
    ]
    headers = ", ".join(name for name in given.get("headers", ()) if name != "X-Request-ID")
    return {"status": status, "description": given["description"], "contents": contents, "headers": headers}


def _refusal(document: Json, status: str, given: Json) -> Markup:
    title = document["components"]["responses"][_name_of(given)]["description"]
    return Markup("<code>{}</code> {}").format(status, title)


def _example(content: Json) -> str:
    return orjson.dumps(content["example"], option=orjson.OPT_INDENT_2).decode() if "example" in content else ""


def _object(name: str, schema: Json) -> Row:
    return {"name": name, "description": _inline(schema.get("description", "")), "rows": list(_rows(schema))}


def _rows(schema: Json) -> Iterator[Row]:
    required = schema.get("required", ())
    return (_row(name, each, name in required) for name, each in schema.get("properties", {}).items())


def _row(name: str, schema: Json, required: bool) -> Row:
    notes = [_inline(part) for part in (schema.get("description", ""), *_limits(schema)) if part]
    return {
        "name": name,
        "required": required,
        "kind": _kind(schema),
        "note": Markup("; ").join(notes),
        "answer_only": schema.get("readOnly", False),
    }


def _limits(schema: Json) -> Iterator[str]:
    """What else holds for a value: codes, limits, a default, an example, where it occurs."""
    for each in (schema, *schema.get("anyOf", ())):
        if "enum" in each:
            yield "one of " + ", ".join(f"`{code}`" for code in each["enum"])
    for lowest, highest, unit in SPANS:
        if lowest in schema or highest in schema:
            yield _span(schema.get(lowest), schema.get(highest)) + unit
    for name, text in LIMITS.items():
        if name in schema:
            yield text.format(schema[name])
    if "default" in schema:
        yield f"default `{orjson.dumps(schema['default']).decode()}`"
    yield from (f"such as `{example}`" for example in schema.get("examples", ())[:1])
    yield from (text for name, text in ONLY.items() if schema.get(name))


def _span(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return f"at most {high:g}" if low is None else f"at least {low:g}"
    return f"{low:g} to {high:g}"


def _kind(schema: Json) -> Markup:
    """The type of a value in words; an object of the document is a link to it."""
    if "$ref" in schema:
        return Markup('<a href="#{0}">{0}</a>').format(_name_of(schema))
    if "anyOf" in schema:
        return _either(map(_kind, schema["anyOf"]))
    if "value" in schema.get("properties", ()):
        return Markup("<code>{}</code>").format('{"value": ..., "unit": ...}')
    types = schema.get("type", "any value")
    return _either(map(partial(_plain, schema), [types] if isinstance(types, str) else types))


def _plain(schema: Json, name: str) -> Markup:
    if name == "array":
        return Markup("list of ") + _kind(schema.get("items", {}))
    if name == "object" and isinstance(schema.get("additionalProperties"), Mapping):
        return Markup("object of ") + _kind(schema["additionalProperties"])
    if name == "string" and schema.get("format") in FORMATS:
        return escape(FORMATS[schema["format"]])
    return escape(WORDS.get(name, name))


def _either(kinds: Iterable[Markup]) -> Markup:
    return Markup(" or ").join(dict.fromkeys(kinds))


def _name_of(reference: Json) -> str:
    return str(reference["$ref"]).rpartition("/")[2]
