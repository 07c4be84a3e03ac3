"""Puts the ES modules of a page together into one, so that a page asks for its script once.

The modules are kept small and apart in `static`; this is done in memory when the server starts. Each becomes a function
that gives what it exports, each import takes from those: so names in one module never meet those of another. It knows
the forms that these modules use, `import { a, b } from "./c.js"` and `export` before a declaration, and refuses others.
"""

import re
from pathlib import Path

IMPORT = re.compile(r'^import \{ (\w+(?:, \w+)*) \} from "\./([\w-]+\.js)";$', re.MULTILINE)
EXPORT = re.compile(r"^export ((?:async )?function|const) (\w+)", re.MULTILINE)
LEFT = re.compile(r"^\s*(?:import|export)\b.*$", re.MULTILINE)


def bundle(entry: Path) -> bytes:
    """One module that does what a module and all that it imports do, each run once, what is imported first."""
    return "\n".join(["const modules = {};", *map(_as_function, _in_order(entry, []))]).encode()


def _in_order(path: Path, above: list[Path]) -> list[Path]:
    """A module after those that it imports, each once; ValueError for a circle."""
    if path in above:
        raise ValueError(f"{path.name} imports itself by way of others")
    imported = (path.with_name(name) for _, name in IMPORT.findall(path.read_text(encoding="utf-8")))
    needed = [each for other in imported for each in _in_order(other, [*above, path])]
    return list(dict.fromkeys([*needed, path]))


def _as_function(path: Path) -> str:
    text = path.read_text(encoding="utf-8")
    names = ", ".join(name for _, name in EXPORT.findall(text))
    body = IMPORT.sub(r'const { \1 } = modules["\2"];', EXPORT.sub(r"\1 \2", text))
    if left := LEFT.search(body):
        raise ValueError(f"{path.name}: {left[0].strip()!r} has a form that is not known here")
    return f'modules["{path.name}"] = (() => {{\n{body}\nreturn {{ {names} }};\n}})();'
