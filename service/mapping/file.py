"""The mapping file: TOML, read strictly and written with what must be answered."""

import json
import tomllib
from collections.abc import Iterator
from collections.abc import Mapping as Names
from dataclasses import fields as parts_of
from typing import Any, ClassVar

from marshmallow import Schema, fields, validate

from service.domain.errors import Fault, Invalid
from service.domain.instants import zone
from service.domain.record.visits import KINDS, MOMENTS
from service.mapping import targets
from service.mapping.model import ABOVE, ASK, CREATES, NAMED, Column, Mapping, Table
from service.schemas.fields import Choice, Flag, line
from service.schemas.reading import read
from service.workbooks.dates import ORDERS

MOST = validate.Length(max=5000)
LARGEST = 1_000_000


def texts() -> fields.Dict:
    """A table of texts."""
    return fields.Dict(keys=fields.String(), values=fields.String(), validate=MOST)


def text_list() -> "fields.List[Any]":
    """A list of texts."""
    return fields.List(line(), validate=validate.Length(max=500))


class ColumnSchema(Schema):
    """One column."""

    to = line(required=True)
    unit = line()
    values = texts()
    when = Choice(MOMENTS)
    component = line()
    tap = line()
    blank = Choice((ABOVE,))
    read_text = Flag()
    facts = texts()


class TableSchema(Schema):
    """One kind of table."""

    sheets = fields.List(line(), required=True, validate=validate.Length(max=500))
    columns = fields.Dict(required=True, validate=validate.Length(max=500))
    creates = fields.List(Choice(CREATES), validate=validate.Length(max=10))
    defaults = texts()
    labels = texts()
    sheet_name = line()
    section = line()
    skip_rows = text_list()
    unit_in_text = text_list()


class MappingSchema(Schema):
    """A mapping file."""

    class Meta:
        """Tables are written [[table]]."""

        include: ClassVar = {
            "table": fields.List(fields.Nested(TableSchema), required=True, validate=validate.Length(max=200))
        }

    version = fields.Integer(required=True, validate=validate.OneOf([1]))
    time_zone = line()
    visit_time = fields.String(validate=validate.Regexp(r"^([01][0-9]|2[0-3]):[0-5][0-9]$"))
    visit_kind = Choice((*KINDS, ASK))
    encoding = line()
    decimal = Choice(("point", "comma"))
    dates = texts()
    units = texts()
    aliases = fields.Dict(values=texts(), validate=validate.Length(max=10))
    ignored_sheets = text_list()


def load(text: str) -> Mapping:
    """The mapping in a text of TOML; Invalid with each fault by its path."""
    if len(text) > LARGEST:
        raise Invalid([Fault("mapping", None, f"is longer than {LARGEST} characters")])
    try:
        document = tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as fault:
        raise Invalid([Fault("mapping", None, f"is not TOML: {fault}")]) from fault
    given = read(MappingSchema(), document)
    tables = [_table(n, table) for n, table in enumerate(given.pop("table"))]
    made = Mapping(tables=tuple(tables), **{name: _frozen(value) for name, value in given.items()})
    faults = list(_faults(made))
    if faults:
        raise Invalid(faults)
    return made


def _frozen(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def _table(n: int, given: dict[str, Any]) -> Table:
    columns = {}
    for heading, column in given.pop("columns").items():
        try:
            columns[heading] = Column(**read(ColumnSchema(), {"to": column} if isinstance(column, str) else column))
        except Invalid as refusal:
            path = f"table.{n}.columns.{heading}"
            raise Invalid([Fault(f"{path}.{f.field}", f.value, f.message) for f in refusal.faults]) from refusal
    return Table(columns=columns, **{name: _frozen(value) for name, value in given.items()})


def _faults(mapping: Mapping) -> Iterator[Fault]:
    for n, table in enumerate(mapping.tables):
        for path, to in _targets_of(table).items():
            try:
                targets.target(to)
            except ValueError as fault:
                yield Fault(f"table.{n}.{path}", to, str(fault))
    for separator, order in mapping.dates.items():
        if order not in (*ORDERS, ASK):
            yield Fault(f"dates.{separator}", order, f"one of: {', '.join(ORDERS)}")
    for kind in mapping.aliases.keys() - set(NAMED):
        yield Fault(f"aliases.{kind}", kind, f"one of: {', '.join(NAMED)}")
    yield from _zone_fault(mapping.time_zone)


def _zone_fault(name: str | None) -> Iterator[Fault]:
    if name not in (None, ASK):
        try:
            zone(str(name))
        except ValueError as fault:
            yield Fault("time_zone", name, str(fault))


def _targets_of(table: Table) -> dict[str, str]:
    """The fields that a table names, by their place in it."""
    named = {f"columns.{heading}": column.to for heading, column in table.columns.items()}
    named |= {f"labels.{label}": to for label, to in table.labels.items()}
    named |= {name: to for name, to in (("sheet_name", table.sheet_name), ("section", table.section)) if to}
    return named | {f"defaults.{name}": name for name in table.defaults}


def unanswered(mapping: Mapping) -> list[str]:
    """The places of a mapping that still have a question mark."""
    found = [f"dates.{name}" for name, value in mapping.dates.items() if value == ASK]
    found += [f"units.{name}" for name, value in mapping.units.items() if value == ASK]
    found += [name for name in ("time_zone", "visit_kind") if getattr(mapping, name) == ASK]
    return found


def dump(mapping: Mapping, remarks: Names[str, str], then: str = "import it") -> str:
    """The mapping as a file to read and edit; `remarks` stand above their places, `then` is the next step."""
    lines = [f'# What each sheet and column means. Answer every "?", then {then}.']
    for name in ("version", "time_zone", "visit_time", "visit_kind", "encoding", "decimal", "ignored_sheets"):
        value = getattr(mapping, name)
        if value not in (None, ()):
            lines += [*_comment(remarks.get(name)), f"{name} = {_value(value)}"]
    for name, given in (("dates", mapping.dates), ("units", mapping.units)):
        lines += _texts_lines(name, given, remarks)
    for kind, given in mapping.aliases.items():
        lines += _texts_lines(f"aliases.{kind}", given, remarks)
    for n, table in enumerate(mapping.tables):
        lines += ["", "[[table]]", *_comment(remarks.get(f"table.{n}")), *_table_lines(table)]
    return "\n".join(lines) + "\n"


def _texts_lines(name: str, given: Names[str, str], remarks: Names[str, str]) -> Iterator[str]:
    if given:
        yield from ("", f"[{name}]", *_comment(remarks.get(name)))
    for key, value in given.items():
        yield from (*_comment(remarks.get(f"{name}.{key}")), f"{_key(key)} = {_value(value)}")


def _comment(text: str | None) -> list[str]:
    return [f"# {line}" for line in text.splitlines()] if text else []


def _table_lines(table: Table) -> Iterator[str]:
    for name in ("sheets", "creates", "sheet_name", "section", "skip_rows", "unit_in_text"):
        value = getattr(table, name)
        if value:
            yield f"{name} = {_value(value)}"
    for name in ("defaults", "labels"):
        if getattr(table, name):
            yield f"{name} = {_value(getattr(table, name))}"
    yield "[table.columns]"
    for heading, column in table.columns.items():
        plain = Column(to=column.to)
        extra = {p.name: v for p in parts_of(Column) if (v := getattr(column, p.name)) != getattr(plain, p.name)}
        yield f"{_key(heading)} = {_value({'to': column.to, **extra} if extra else column.to)}"


def _key(key: str) -> str:
    return json.dumps(key, ensure_ascii=False).replace("\x7f", "\\u007F")


def _value(value: Any) -> str:
    """A value in TOML, on one line: JSON's strings, numbers, booleans and lists are TOML's."""
    if isinstance(value, Names):
        return "{ " + ", ".join(f"{_key(key)} = {_value(part)}" for key, part in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_value(part) for part in value) + "]"
    return _key(value) if isinstance(value, str) else json.dumps(value)
