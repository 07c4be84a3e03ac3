"""A form of labelled fields, one below the other: shown, read by the API's schema, and shown again with its faults."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from flask import Response, request
from marshmallow import Schema
from werkzeug.datastructures import MultiDict

from service.domain.errors import Conflict, DomainError, Invalid
from service.schemas.reading import read
from service.web.page import see_other
from service.web.render import show

Options = Sequence[str] | Mapping[str, str]
Document = dict[str, Any]
REFUSED = 422
HIDDEN = "hidden"  # of the page alone, not of the document


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field. Its name is the path in the document: "by.name" is `name` of `by`.

    `kind` is that of an input, or "area", "select", "choice", "ticks", "hidden".
    """

    name: str
    label: str
    kind: str = "text"
    options: Options = ()
    hint: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainForm:
    """A form: its title, its fields, what its button says, and the schema that reads it."""

    title: str
    fields: tuple[Field, ...]
    button: str
    schema: Schema
    intro: str = ""

    def with_options(self, **options: Options) -> "PlainForm":
        """The form with the options of some fields, by name."""
        return replace(
            self, fields=tuple(replace(each, options=options.get(each.name, each.options)) for each in self.fields)
        )

    def needs(self, name: str) -> bool:
        """Whether the schema refuses a document without this field."""
        known = self.schema.fields.get(name)
        return known is not None and known.required

    def page(self, given: Mapping[str, Any] | None = None, refusal: DomainError | None = None) -> Response:
        """The form with what is given, and after a refusal with its faults, each at its field."""
        form = MultiDict(given or {})
        faults, general = self._faults(refusal)
        status = 200 if refusal is None else REFUSED
        return show("plain_form.html", status=status, plain=self, form=form, faults=faults, general=general)

    def send(self, store_it: Callable[[Document], str], **also: Any) -> Response:
        """Store what was sent and go to the path that `store_it` gives; the form again where it is refused."""
        try:
            return see_other(store_it(read(self.schema, self.document(request.form) | also)))
        except (Invalid, Conflict) as refusal:
            return self.page(request.form, refusal)

    def document(self, form: MultiDict[str, str]) -> Document:
        """The fields that are filled in, as the API takes them."""
        made: Document = {}
        for each in self.fields:
            if each.kind == HIDDEN:
                continue
            values = [text for value in form.getlist(each.name) if (text := value.strip())]
            if values:
                _put(made, each.name.split("."), values if each.kind == "ticks" else values[0])
        return made

    def _faults(self, refusal: DomainError | None) -> tuple[dict[str, list[str]], tuple[str, ...]]:
        found = getattr(refusal, "faults", ())
        names = [each.name for each in self.fields]
        named: dict[str, list[str]] = {}
        general = [] if refusal is None or found else [str(refusal)]
        for fault in found:
            name = next((name for name in names if f"{fault.field}.".startswith(f"{name}.")), None)
            if name is None:
                general.append(f"{fault.field.replace('_', ' ')}: {fault.message}")
            else:
                named.setdefault(name, []).append(fault.message)
        return named, tuple(general)


def _put(made: Document, path: Sequence[str], value: Any) -> None:
    for step in path[:-1]:
        made = made.setdefault(step, {})
    made[path[-1]] = value
