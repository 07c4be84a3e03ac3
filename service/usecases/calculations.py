"""Reckon at the bench: nothing is read from the book and nothing stored."""

from collections.abc import Mapping
from typing import Any

from service.domain.bench.evaluation import reckon
from service.domain.bench.fields import Answer, Calculation


def calculate(calculation: Calculation, entered: Mapping[str, Any]) -> Answer:
    """The answer to a question as its schema read it; Invalid, with the limits, where there is none."""
    return reckon(calculation, entered)
