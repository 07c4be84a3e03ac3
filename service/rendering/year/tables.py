"""Tables with typed cells, for every format that shows tables, and the text of cells."""

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from service.domain.messages import Message
from service.domain.quantities import DIMENSIONS, Quantity, show_quantity
from service.domain.record.visits import FOULING
from service.domain.summary.document import UnitSummary
from service.rendering.words import term, worded

Cell = str | int | float | date | datetime | None
Row = tuple[Cell, ...]
LONGEST_NAME = 31  # letters of the name of a sheet
_SIGNS = {"degC": "°C", "degF": "°F", "deltaC": "°C", "deltaF": "°F"}


@dataclass(frozen=True, slots=True)
class Column:
    """A column; one of numbers shows `digits` after the point, in the unit that its head names."""

    head: Message
    digits: int | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A table; a cell of None is not known, an instant is the site's own clock time."""

    name: Message
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]

    @property
    def title(self) -> str:
        """The name of its sheet."""
        return worded(self.name)[:LONGEST_NAME]

    @property
    def heads(self) -> tuple[str, ...]:
        """What stands over the columns, in English."""
        return tuple(column.head for column in self.columns)


def in_units(quantity: Quantity | None, system: str) -> float | None:
    """The number of a quantity in the usual unit of `system`, as the JSON shows it when nothing was typed."""
    return None if quantity is None else float(show_quantity(_plain(quantity), system)["value"])


def _plain(quantity: Quantity) -> Quantity:
    return Quantity(quantity.value, quantity.dimension, "")


def unit_of(dimension: str, system: str) -> str:
    """The usual unit of a dimension in `system`, as it is written in a head."""
    kind = DIMENSIONS[dimension]
    unit = kind.si if system == "si" else kind.us
    return _SIGNS.get(unit, unit)


def words(code: str | None) -> str | None:
    """A code as words.

    >>> words("service_call")
    'service call'
    """
    return None if code is None else term(code)


def as_found(code: str | None) -> str | None:
    """How something was found, in plain words."""
    return None if code is None else term(FOULING[code])


def hours(quantity: Quantity | None) -> float | None:
    """A duration in hours."""
    return None if quantity is None else quantity.value / 3600


def at_site(instant: datetime | None, unit: UnitSummary) -> datetime | None:
    """What the clock at the unit's site shows, without its offset, as a workbook's cell has it."""
    return None if instant is None else instant.astimezone(ZoneInfo(unit.time_zone)).replace(tzinfo=None)


def sentence(text: str) -> str:
    """The text with a full stop, unless it ends a sentence already.

    >>> sentence("warm at four"), sentence("Why?")
    ('warm at four.', 'Why?')
    """
    return text if text.endswith((".", "!", "?")) else f"{text}."


def by_whom(by: str, evidence: str) -> str:
    """Who did it, and whether it was only reported to us."""
    return term(by) if evidence == "seen" else f"{term(by)}, {term(evidence)}"
