"""The faults that are planted: one operator, constant or statement at a time, in a module's syntax tree."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from types import CodeType

_SWAPS = (
    "Lt:LtE,GtE LtE:Lt,Gt Gt:GtE,LtE GtE:Gt,Lt Eq:NotEq NotEq:Eq Is:IsNot IsNot:Is In:NotIn NotIn:In And:Or Or:And "
    "Add:Sub Sub:Add Mult:Div Div:Mult FloorDiv:Mult Mod:Mult Pow:Mult BitAnd:BitOr BitOr:BitAnd USub:UAdd "
    "LShift:RShift RShift:LShift"
)
OPERATORS = {
    getattr(ast, old): [getattr(ast, new) for new in news.split(",")]
    for old, news in (swap.split(":") for swap in _SWAPS.split())
}
FUNCTIONS = {"min": "max", "max": "min", "any": "all", "all": "any"}
REMOVED = (ast.AugAssign, ast.Raise, ast.Continue, ast.Break, ast.Delete)
EFFECTS = (ast.Call, ast.Yield, ast.YieldFrom)
NOT_CODE = {"annotation", "returns", "decorator_list", "type_params"}
NOT_CHANGED = {"metadata", "strict"}  # keywords: metadata is documentation, zip(strict=True) an assertion
SHOWN_WHOLE = (ast.stmt, ast.BinOp, ast.BoolOp, ast.Compare, ast.UnaryOp, ast.IfExp)


@dataclass(frozen=True)
class Change:
    """A change by its number in the module; `lines` are those of its statement, `function` is empty outside any."""

    number: int
    line: int
    lines: range
    function: str
    text: str


@dataclass(frozen=True)
class _Place:
    parent: ast.AST
    statement: ast.stmt | None
    function: str


def changes(source: str) -> list[Change]:
    """All changes of a module, in the order of its source."""
    return list(_each(ast.parse(source)))


def changed_code(source: str, number: int, path: str) -> CodeType:
    """The module compiled with the change of that number."""
    tree = ast.parse(source)
    each = _each(tree)
    next(islice(each, number, None))  # the tree stays changed while the generator waits
    return compile(ast.fix_missing_locations(tree), path, "exec", dont_inherit=True)


def _each(tree: ast.Module) -> Iterator[Change]:
    """Make each change in the tree, yield it, take it back."""
    for number, (node, field, new, removed, place) in enumerate(_edits(tree, _Place(tree, None, ""))):
        shown = removed or (node if isinstance(node, SHOWN_WHOLE) else place.parent)
        before, old = _text(shown), getattr(node, field)
        setattr(node, field, new)
        text = f"{before} -> {'pass' if removed else _text(shown)}"
        statement = removed or place.statement
        line = getattr(removed or node, "lineno", statement.lineno)
        yield Change(number, line, _lines(statement), place.function, text)
        setattr(node, field, old)


def _edits(node: ast.AST, place: _Place) -> Iterator[tuple[ast.AST, str, object, ast.stmt | None, _Place]]:
    """A node, one of its fields, the new value, the statement that goes with it if one does, and where that is."""
    if isinstance(node, ast.stmt):
        place = _Place(place.parent, node, place.function)
    for field, new in (*_other_operators(node), *_other_values(node), *_negations(node)):
        yield node, field, new, None, place
    for field, value in ast.iter_fields(node):
        inside = isinstance(node, ast.FunctionDef) and field == "body"
        below = _Place(node, place.statement, node.name if inside else place.function)
        for index, child in enumerate(value if isinstance(value, list) else [value]):
            if _may_go(child):
                yield node, field, [*value[:index], ast.Pass(), *value[index + 1 :]], child, below
            if isinstance(child, ast.AST) and not _left_out(field, child):
                yield from _edits(child, below)


def _other_operators(node: ast.AST) -> Iterator[tuple[str, object]]:
    match node:
        case ast.BinOp(op=op) | ast.AugAssign(op=op) | ast.BoolOp(op=op) | ast.UnaryOp(op=op):
            yield from (("op", new()) for new in OPERATORS.get(type(op), ()))
        case ast.Compare(ops=ops):
            for index, op in enumerate(ops):
                yield from (("ops", [*ops[:index], new(), *ops[index + 1 :]]) for new in OPERATORS[type(op)])
        case ast.Name(id=name) if name in FUNCTIONS:
            yield "id", FUNCTIONS[name]


def _other_values(node: ast.AST) -> Iterator[tuple[str, object]]:
    match node:
        case ast.Constant(value=bool(value)):
            yield "value", not value
        case ast.Constant(value=int(value)):
            yield from (("value", value + step) for step in (1, -1))
        case ast.Constant(value=float(value)):
            yield from (("value", float(f"{value * (1 + step) or step:.9g}")) for step in (0.01, -0.01))
        case ast.Return(value=ast.expr() as value) if not (isinstance(value, ast.Constant) and value.value is None):
            yield "value", ast.Constant(None)


def _negations(node: ast.AST) -> Iterator[tuple[str, object]]:
    """A condition negated, where no operator in it can be."""
    match node:
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            yield "operand", ast.UnaryOp(ast.Not(), operand)
        case ast.If(test=test) | ast.While(test=test) | ast.IfExp(test=test) if not _has_operator(test):
            yield "test", ast.UnaryOp(ast.Not(), test)
        case ast.comprehension(ifs=[test]) if not _has_operator(test):
            yield "ifs", [ast.UnaryOp(ast.Not(), test)]


def _has_operator(test: ast.expr) -> bool:
    return isinstance(test, ast.Compare | ast.BoolOp) or (
        isinstance(test, ast.UnaryOp) and isinstance(test.op, ast.Not)
    )


def _may_go(child: object) -> bool:
    """Statements that leave no name undefined."""
    return isinstance(child, REMOVED) or (isinstance(child, ast.Expr) and isinstance(child.value, EFFECTS))


def _left_out(field: str, node: ast.AST) -> bool:
    checking = isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
    return checking or field in NOT_CODE or (isinstance(node, ast.keyword) and node.arg in NOT_CHANGED)


def _lines(statement: ast.stmt) -> range:
    """The lines of a simple statement, or of a compound one's head."""
    body = getattr(statement, "body", None)
    return range(statement.lineno, max(body[0].lineno, statement.lineno + 1) if body else statement.end_lineno + 1)


def _text(node: ast.AST) -> str:
    """Source text; of a compound statement its condition."""
    return ast.unparse(node.test if isinstance(node, ast.If | ast.While) else node)
