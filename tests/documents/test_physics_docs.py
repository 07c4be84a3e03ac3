"""No formula without equation, units, source and an example that runs (doctest runs the examples)."""

import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

from service.domain import physics

NO_FORMULAS = {"libraries", "pull_down_curve", "ranges", "trunk_cells"}  # imports, refusals, and two kernels
MODULES = [
    importlib.import_module(found.name)
    for found in pkgutil.walk_packages([str(Path(physics.__file__).parent)], "service.domain.physics.")
    if found.name.rpartition(".")[2] not in NO_FORMULAS
]
FORMULAS = [
    function
    for module in MODULES
    for name, function in inspect.getmembers(module, inspect.isfunction)
    if function.__module__ == module.__name__ and not name.startswith("_")
]


def sections(docstring: str) -> dict[str, str]:
    """The numpydoc sections of a docstring by their headings."""
    parts = re.split(r"^(\w[\w ]*)\n-{3,}$", docstring, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def documented(text: str) -> dict[str, str]:
    """Each documented parameter with what stands behind it."""
    found = re.split(r"^(\*{0,2}\w+(?:, \w+)*) : ", text, flags=re.MULTILINE)
    pairs = zip(found[1::2], found[2::2], strict=True)
    return {name: text for names, text in pairs for name in names.split(", ")}


@pytest.mark.parametrize("formula", FORMULAS, ids=lambda f: f"{f.__module__.rsplit('.', 1)[1]}.{f.__name__}")
def test_a_formula_states_units_source_and_example(formula):
    parts = sections(inspect.getdoc(formula) or "")
    described = documented(parts.get("Parameters", ""))

    assert [name for name in inspect.signature(formula).parameters if "[" not in described.get(name, "")] == []
    assert "[" in parts.get("Returns", "")
    assert parts.get("References", "").strip()
    assert ">>>" in parts.get("Examples", "")


def test_there_are_formulas():
    assert len(FORMULAS) > 80


def without_a_unit(bore: float) -> float:
    """Tell nothing.

    Parameters
    ----------
    bore : float
        No unit here.

    Returns
    -------
    float
        Nothing [-]

    References
    ----------
    .. [1] None.

    Examples
    --------
    >>> 1
    1
    """
    return bore


def test_a_missing_unit_is_seen():
    """The guard itself: it once let a missing unit pass."""
    with pytest.raises(AssertionError):
        test_a_formula_states_units_source_and_example(without_a_unit)
