"""Whatever stored figures and texts rest on changes their mark, so that the next night makes them anew."""

from dataclasses import fields, replace

import numpy as np
import pytest

from service.domain.root_causes import causes, figures
from service.domain.root_causes.causes import CAUSES, UNEXPLAINED, Cause
from service.domain.root_causes.views import since_strainer_cleaned
from service.domain.root_causes.wording import WORDS

CHANGES = {str: lambda text: text + "?", float: lambda number: number + 0.001, tuple: lambda items: (*items, "more")}


def mark():
    figures.layout.cache_clear()
    return figures.layout()


@pytest.fixture(autouse=True)
def unchanged():
    """The mark before a change; the next test asks anew."""
    yield mark()
    figures.layout.cache_clear()


def with_first(cause, monkeypatch):
    monkeypatch.setattr(causes, "CAUSES", (cause, *CAUSES[1:]))
    return mark()


@pytest.mark.parametrize("name", [field.name for field in fields(Cause) if field.name != "harms"])
def test_every_field_of_a_cause(unchanged, monkeypatch, name):
    value = getattr(CAUSES[0], name)

    assert with_first(replace(CAUSES[0], **{name: CHANGES[type(value)](value)}), monkeypatch) != unchanged


def test_what_a_cause_harms(unchanged, monkeypatch):
    first, *rest = CAUSES[0].harms
    for change in ({"kind": "pump"}, {"marks": ()}, {"share": 0.9}):
        assert with_first(replace(CAUSES[0], harms=(replace(first, **change), *rest)), monkeypatch) != unchanged


def test_no_words(unchanged, monkeypatch):
    """A cause's wording is put to it when it is read: no figure is made anew for another sentence."""
    first, *rest = CAUSES[0].harms
    monkeypatch.setitem(WORDS, CAUSES[0].code, replace(WORDS[CAUSES[0].code], sentence="another sentence"))

    assert with_first(replace(CAUSES[0], harms=(replace(first, why="another reason"), *rest)), monkeypatch) == unchanged


def test_the_limits_and_the_measure_of_a_view(unchanged, monkeypatch):
    first, *rest = CAUSES[0].views
    for other in (replace(first, limits=(45, 136)), replace(first, exposure=since_strainer_cleaned)):
        assert with_first(replace(CAUSES[0], views=(other, *rest)), monkeypatch) != unchanged
    assert with_first(replace(CAUSES[0], views=(replace(first), *rest)), monkeypatch) == unchanged


CONSTANTS = [
    (module, name)
    for module in figures.MODULES
    for name, value in vars(module).items()
    if name.isupper() and isinstance(value, int | float | str | tuple | dict | np.ndarray)
]


@pytest.mark.parametrize(("module", "name"), CONSTANTS, ids=lambda part: getattr(part, "__name__", part))
def test_every_constant(unchanged, monkeypatch, module, name):
    monkeypatch.setattr(module, name, {"another": 0.5})

    assert mark() != unchanged


def test_the_constants_that_decide_are_among_them():
    names = {f"{module.__name__.rsplit('.', 1)[1]}.{name}" for module, name in CONSTANTS}

    assert names >= {
        "baselines.RATES", "baselines.ALONE", "comparison.EXCESS_MEAN", "engine.WATCH", "engine.STRONG",
        "engine.PROBABLE", "exposure.FOUND", "failures.MARKED", "failures.REPORTED", "learning.SHAPES",
        "learning.WORTH_YEARS", "sequences.WINDOW", "switch_loads.CLEANINGS", "switch_loads.FOULED_CURRENT",
        "switch_loads.MOTOR_SHARE", "sound_readings.HOLDS",
    }  # fmt: skip


def test_the_mark_names_nothing_that_differs_between_processes():
    assert " at 0x" not in repr(figures._plain(CAUSES) + figures._plain([UNEXPLAINED, causes.BY_CODE]))
