"""Every public module, class, function and method of the product says in a sentence what it is for."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MODULES = sorted(path for path in (ROOT / "service").rglob("*.py") if path.read_text(encoding="utf-8").strip())
Documented = ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef


def public(node: ast.AST, path: str) -> Iterator[tuple[str, Documented]]:
    """What can be reached by a public name: (dotted path, node). What is defined inside a function cannot."""
    for inner in getattr(node, "body", []):
        if isinstance(inner, ast.If | ast.Try):
            yield from public(inner, path)
        elif isinstance(inner, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) and not inner.name.startswith(
            "_"
        ):
            yield f"{path}.{inner.name}", inner
            if isinstance(inner, ast.ClassDef):
                yield from public(inner, f"{path}.{inner.name}")


def speechless(source: str, path: str = "module") -> list[str]:
    """The public names without a docstring, or whose docstring does not begin with a sentence that ends."""
    tree = ast.parse(source)
    docstrings = {place: ast.get_docstring(node) or "" for place, node in [(path, tree), *public(tree, path)]}
    return [place for place, text in docstrings.items() if not text.partition("\n\n")[0].endswith((".", "?", "!", ":"))]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT / "service")))
def test_whatever_is_public_says_what_it_is_for(path: Path) -> None:
    assert speechless(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("x = 1", ["module"]),
        ('"""Told."""\ndef f(): pass', ["module.f"]),
        ('"""Told."""\nclass C:\n    """Told."""\n    def f(self): pass', ["module.C.f"]),
        ('"""Told."""\nclass C:\n    class Meta:\n        x = 1', ["module.C", "module.C.Meta"]),
        ('"""Told."""\nif True:\n    def f(): pass', ["module.f"]),
        ('"""no sentence"""', ["module"]),
        ('"""Told."""\ndef _f(): pass\nclass _C:\n    def f(self): pass', []),
        ('"""Told."""\ndef f():\n    """Told."""\n    def g(): pass', []),
    ],
)
def test_what_says_nothing_is_found(source: str, found: list[str]) -> None:
    assert speechless(source) == found
