"""Statements written with SQLAlchemy Core and run as plain SQL: Core's price is paid once, not at every execution."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import BindParameter, ClauseElement, Dialect, Float
from sqlalchemy.sql.compiler import SQLCompiler


@dataclass(frozen=True, slots=True)
class PlainSql:
    """SQL text for one engine, the parameters a caller must give, and the values that stand in the text itself."""

    text: str
    wanted: frozenset[str]
    constants: dict[str, Any]
    order: tuple[str, ...] = ()  # of the parameters, where the text has them by place

    def bound(self, params: Mapping[str, Any]) -> Mapping[str, Any]:
        """Every parameter of the text; TypeError when the caller's do not match, name by name."""
        if params.keys() != self.wanted:
            missing, unknown = sorted(self.wanted - params.keys()), sorted(params.keys() - self.wanted)
            raise TypeError(f"parameters missing: {missing}, not in the statement: {unknown}, in: {self.text}")
        return {**self.constants, **params} if self.constants else params

    def in_order(self, params: Mapping[str, Any]) -> list[Any]:
        """The same by place."""
        return list(map(self.bound(params).__getitem__, self.order))


class Statement:
    """One statement for both engines, from a Core construct, or from a mapping of dialect name to construct.

    Parameters are Core's bindparam() or the columns of an insert(); all are given at execution, column defaults are
    not used. Values pass through as the driver takes and gives them: types that SQLAlchemy would convert are refused.
    """

    __slots__ = ("_constructs", "_many", "_plain")

    def __init__(self, construct: ClauseElement | Mapping[str, ClauseElement]) -> None:
        self._constructs = construct
        self._plain: dict[str, PlainSql] = {}
        self._many: dict[str, PlainSql] = {}

    def plain(self, dialect: Dialect) -> PlainSql:
        """The SQL for this engine, compiled at its first use."""
        plain = self._plain.get(dialect.name)
        if plain is None:
            plain = self._plain[dialect.name] = _compiled(self._construct_for(dialect.name), dialect)
        return plain

    def many(self, dialect: Dialect) -> PlainSql:
        """The SQL with parameters by place: run for many rows, looking each up by its name takes as long as writing."""
        plain = self._many.get(dialect.name)
        if plain is None:
            style = "format" if dialect.name == "postgresql" else "qmark"
            by_place = type(dialect)(paramstyle=style)  # type: ignore[call-arg]  # each that SQLAlchemy brings takes it
            plain = self._many[dialect.name] = _compiled(self._construct_for(dialect.name), by_place)
        return plain

    def _construct_for(self, name: str) -> ClauseElement:
        return self._constructs[name] if isinstance(self._constructs, Mapping) else self._constructs


def _compiled(construct: ClauseElement, dialect: Dialect) -> PlainSql:
    compiled = construct.compile(dialect=dialect)
    if not isinstance(compiled, SQLCompiler):
        raise TypeError(f"not a statement that carries data: {construct}")
    for bind in compiled.binds.values():
        _refuse_conversion(bind, dialect)
    wanted = frozenset(compiled.bind_names[bind] for bind in compiled.bind_names if bind.required)
    expanded = compiled.construct_expanded_state(dict.fromkeys(wanted))  # spells out the lists in IN (...)
    constants = {name: value for name, value in expanded.parameters.items() if name not in wanted}
    order = tuple(expanded.positiontup or ())
    return PlainSql(text=expanded.statement, wanted=wanted, constants=constants, order=order)


def _refuse_conversion(bind: BindParameter[Any], dialect: Dialect) -> None:
    if bind.required and bind.expanding:
        raise TypeError(f"{bind.key} is a list, whose length the text of the statement depends on: use core()")
    if isinstance(bind.type, Float):
        return  # its conversion only turns Decimals into floats, and nobody gives a Decimal
    if bind.type.dialect_impl(dialect).bind_processor(dialect) is not None:
        raise TypeError(f"{bind.key} is of type {bind.type!r}, which plain SQL cannot convert")
