"""A mapping: what each sheet and column of a file means, as read from a mapping file."""

from collections.abc import Mapping as Table_
from dataclasses import dataclass, field

CREATES = ("customer", "site", "unit", "technician")
NAMED = CREATES
ASK = "?"  # stands for an answer that nobody has given yet
SKIP, NOTE = "skip", "note"
ABOVE = "above"
Texts = Table_[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """What a column means: its field, and what its cells do not say themselves."""

    to: str
    unit: str | None = None
    values: Texts = field(default_factory=dict)
    when: str = "as_found"
    component: str | None = None
    tap: str | None = None
    blank: str | None = None
    read_text: bool = False
    facts: Texts = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One kind of table: the sheets that have it, its columns by heading, what its rows may add to the fleet."""

    sheets: tuple[str, ...]
    columns: Table_[str, Column]
    creates: tuple[str, ...] = ()
    defaults: Texts = field(default_factory=dict)
    labels: Texts = field(default_factory=dict)
    sheet_name: str | None = None
    section: str | None = None
    skip_rows: tuple[str, ...] = ()
    unit_in_text: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapping:
    """A whole mapping file."""

    tables: tuple[Table, ...]
    version: int = 1
    time_zone: str | None = None
    visit_time: str = "12:00"
    visit_kind: str = "maintenance"
    encoding: str | None = None
    decimal: str | None = None
    dates: Texts = field(default_factory=dict)
    units: Texts = field(default_factory=dict)
    aliases: Table_[str, Texts] = field(default_factory=dict)
    ignored_sheets: tuple[str, ...] = ()
