"""The files of a checkout, and which of them import which."""

import ast
import gc
import importlib
import os
import warnings
from contextlib import suppress
from functools import cached_property
from importlib.metadata import entry_points
from pathlib import Path

LEFT_OUT = (
    "tests/benchmarks/",
    "tests/documents/",
    "tests/e2e/",
    "tests/mutants/",
)  # they start processes of their own
MIRRORS = {"usecases": ["usecases", "api/resources"]}  # folders of tests; for all others that of the same name


class Files:
    """The application and its tests under a folder; files are named relative to it."""

    def __init__(self, root: Path) -> None:
        self.root = root
        found = sorted(path for folder in ("service", "tests") for path in (root / folder).rglob("*.py"))
        self.names = {dotted(file): file for path in found if (file := str(path.relative_to(root)))}
        self.imported = {file: imports(self.read(file)) for file in self.names.values()}

    def read(self, file: str) -> str:
        """Its text."""
        return (self.root / file).read_text("utf-8")

    @cached_property
    def tests(self) -> list[str]:
        """The files that hold tests or examples."""
        files = [file for file in self.imported if not file.startswith(LEFT_OUT)]
        return [file for file in files if Path(file).name.startswith("test_") or "\n    >>> " in self.read(file)]

    def tests_near(self, file: str) -> set[str]:
        """The test files that mirror a module, those that import it themselves, and the module with its examples.

        A use case is mirrored by the requests for its resource, too.
        """
        folder, _, name = file.removeprefix("service/").rpartition("/")
        mirrors = {f"tests/{each}/test_{name}" for each in MIRRORS.get(folder, [folder])}
        return self.importers(file).union({file, *mirrors}).intersection(self.tests)

    def tests_reaching(self, file: str) -> set[str]:
        """The test files that import a module by whatever way."""
        found, left = {file}, [file]
        while left:
            new = {user for user in self._users(left.pop()) if user not in found}
            found |= new
            left += new
        return found.intersection(self.tests)

    def importers(self, file: str) -> set[str]:
        """The files that import a module themselves."""
        return {user for user, names in self.imported.items() if dotted(file) in names}

    def _users(self, file: str) -> set[str]:
        """Whoever imports it; of a conftest all tests beneath, of a package's own module whoever imports from it."""
        if Path(file).name == "conftest.py":
            return {each for each in self.imported if each.startswith(f"{Path(file).parent}/")}
        users = self.importers(file)
        if Path(file).name == "__init__.py":
            users |= {
                user for user, names in self.imported.items() if any(n.startswith(dotted(file) + ".") for n in names)
            }
        return users

    def preload(self) -> None:
        """Import what they import from elsewhere, and pytest's plugins, so that a forked child need not."""
        names = set().union(*self.imported.values())
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for name in sorted(each for each in names if not (self.root / each.split(".")[0]).exists()):
                with suppress(ImportError):  # a name imported from a module is no module; an extra may be missing
                    importlib.import_module(name)
            for plugin in () if "PYTEST_DISABLE_PLUGIN_AUTOLOAD" in os.environ else entry_points(group="pytest11"):
                plugin.load()
        gc.freeze()  # what is here stays: no child need search it for garbage


def dotted(file: str) -> str:
    """The module name of a file."""
    return file.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def imports(source: str) -> set[str]:
    """The dotted names that a source imports, wherever in it."""
    names = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return names
