"""A form of labelled fields, one below the other: shown, read by the API's schema, and shown again with its faults."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flask import Response, request
from marshmallow import Schema
from werkzeug.datastructures import MultiDict

from service.domain.errors import Conflict, DomainError, Invalid
from service.domain.plain import as_entered
from service.schemas.reading import read
from service.web.page import see_other
from service.web.render import show
from service.web.visit_document import NUMBER, number

Options = Sequence[str] | Mapping[str, str]
Document = dict[str, Any]
REFUSED = 422
CHANGED = "It has changed since this page was opened; it is shown here as it is now."
UNCHANGED = "Nothing in the form differs from what is stored."
LISTS = ("ticks", "codes")
JOINED = {"lines": "\n", "codes": ", "}
NUMBERS = ("decimal", "whole", "signed")
FLAGS = {"yes": True, "no": False}
HEADINGS = ("heading", "closed")
OF_THE_PAGE = ("hidden", *HEADINGS)  # and not of the document
Shaped = tuple[Document, Mapping[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field. Its name is the path in the document: "by.name" is `name` of `by`.

    `kind` is that of an input, or "area", "select", "choice", "ticks", "decimal", "whole",
    "signed" (which may be below zero: the numeric keypad of some phones has no minus), "lines",
    "codes" (with commas between), "flag", "known" (a text, with options to choose from), "hidden",
    "heading" or "closed", which have no value and only a label: those below it stand in a part of their own, which
    is closed as long as nothing in it is filled in.
    """

    name: str
    label: str
    kind: str = "text"
    options: Options = ()
    hint: str = ""
    empty: str = "not recorded"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainForm:
    """A form: its title and what it is about, its fields, what its button says, and the schema that reads it.

    Where fields are written otherwise than the schema has them, `shape` gives the document, and the name of the field
    for each place in it.
    """

    title: str
    fields: tuple[Field, ...]
    button: str
    schema: Schema
    about: str = ""
    intro: str = ""
    former: Document | None = None
    version: int | None = None
    shape: Callable[[Document], Shaped] | None = None

    def of(self, record: Any, about: str = "", *, version: int | None = None) -> "PlainForm":
        """The form that changes a record: it opens with what is stored and sends what differs."""
        shown = record.version if version is None else version
        return replace(self, former=as_entered(record), version=shown, about=about)

    def with_options(self, **options: Options) -> "PlainForm":
        """The form with the options of some fields, by name."""
        return replace(
            self, fields=tuple(replace(each, options=options.get(each.name, each.options)) for each in self.fields)
        )

    @property
    def parts(self) -> list[tuple[Field | None, list[Field]]]:
        """The fields below each heading; those before the first one below none."""
        made: list[tuple[Field | None, list[Field]]] = [(None, [])]
        for each in self.fields:
            if each.kind in HEADINGS:
                made.append((each, []))
            else:
                made[-1][1].append(each)
        return made

    def needs(self, name: str) -> bool:
        """Whether the schema refuses a document without this field."""
        known = self.schema.fields.get(name)
        return known is not None and known.required

    def page(self, given: Mapping[str, Any] | None = None, refusal: DomainError | None = None) -> Response:
        """The form with what is given, and after a refusal with its faults, each at its field."""
        form = MultiDict(given or self._stored())
        faults, general = self.faults_of(refusal)
        status = 200 if refusal is None else REFUSED
        return show("plain_form.html", status=status, plain=self, form=form, faults=faults, general=general)

    def send(self, store_it: Callable[[Document], str], **also: Any) -> Response:
        """Store what was sent and go to the path that `store_it` gives; the form again where it is refused."""
        if self.former is not None and request.form.get("version") != str(self.version):
            return self.page(refusal=Conflict(CHANGED))
        try:
            document = self.document(request.form) | also
            if self.former is not None and not document:
                raise Conflict(UNCHANGED)
            return see_other(store_it(read(self.schema, document)))
        except (Invalid, Conflict) as refusal:
            return self.page(request.form, refusal)

    def document(self, form: MultiDict[str, str]) -> Document:
        """The fields that are filled in, as the API takes them; of a record that is changed, those that differ."""
        return self._shaped(form)[0]

    def _shaped(self, form: MultiDict[str, str]) -> Shaped:
        made: Document = {}
        for each in self.fields:
            if each.kind in OF_THE_PAGE:
                continue
            path, value = each.name.split("."), _value(each, form)
            if self.former is None:
                fits = value not in (None, [])
            else:
                fits = value != _get(self.former, path, each) and (each.name in form or each.kind == "ticks")
            if fits:
                _put(made, path, value)
        return self.shape(made) if self.shape else (made, {})

    def _stored(self) -> MultiDict[str, str]:
        """What is stored, as the fields show it."""
        form: MultiDict[str, str] = MultiDict()
        for each in self.fields:
            if each.kind in OF_THE_PAGE:
                continue
            value = _get(self.former or {}, each.name.split("."), each)
            if each.kind in JOINED:
                value = JOINED[each.kind].join(value or ())
            for one in value if isinstance(value, list) else [value]:
                if one is not None:
                    form.add(each.name, _text(one))
        return form

    def faults_of(self, refusal: DomainError | None) -> tuple[dict[str, list[str]], tuple[str, ...]]:
        """What is wrong at each field, and what is wrong at none of them."""
        found = getattr(refusal, "faults", ())
        shaped = self._shaped(request.form)[1] if found else {}
        names = {**shaped, **{each.name: each.name for each in self.fields if each.name}}
        named: dict[str, list[str]] = {}
        general = [] if refusal is None or found else [str(refusal)]
        for fault in found:
            name = next((name for place, name in names.items() if f"{fault.field}.".startswith(f"{place}.")), None)
            if name is None:
                general.append(f"{fault.field.replace('_', ' ')}: {fault.message}")
            else:
                named.setdefault(name, []).append(fault.message)
        return named, tuple(general)


def _put(made: Document, path: Sequence[str], value: Any) -> None:
    for step in path[:-1]:
        made = made.setdefault(step, {})
    made[path[-1]] = value


def _value(field: Field, form: MultiDict[str, str]) -> Any:
    """What a field holds; None, or no ticks, where it is empty."""
    values = [text for value in form.getlist(field.name) if (text := value.strip())]
    if field.kind == "ticks":
        return values
    if field.kind == "codes":
        return [code.strip() for value in values for code in value.split(",") if code.strip()]
    if not values:
        return None
    if field.kind == "lines":
        return [text for line in values[0].splitlines() if (text := line.strip())]
    if field.kind in NUMBERS and NUMBER.fullmatch(number(values[0])):
        value = float(number(values[0]))
        return int(value) if field.kind == "whole" and value.is_integer() else value
    return FLAGS.get(values[0], values[0]) if field.kind == "flag" else values[0]


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return next(text for text, flag in FLAGS.items() if flag is value)
    return f"{value:.15g}" if isinstance(value, float) else str(value)


def _get(stored: Mapping[str, Any], path: Sequence[str], field: Field) -> Any:
    value: Any = stored
    for step in path:
        value = (value or {}).get(step)
    return [] if value is None and field.kind in LISTS else value
