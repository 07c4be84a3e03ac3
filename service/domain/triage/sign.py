"""A sign: something that is seen, heard or felt, with its probability under each explanation."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.domain.triage.explanation import RUNNING

Term = tuple[str, float, float]
"""A channel, a limit [SI], and the width in which the sign sets in; a negative width: under the limit."""


FLOOR = 0.02  # people err: one in fifty of what is noted is not so


@dataclass(frozen=True, slots=True)
class Sign:
    """Something that is seen, heard or felt: its code, the question for it, and its probability by explanation."""

    code: str
    question: str
    usual: float
    under: Mapping[str, float]
    running: bool = False  # seen only while the compressor runs
    follows: tuple[Term, ...] = ()  # from what the model expects: when all of these hold it has the probability `then`
    then: float = 0.95

    def probability(self, codes: tuple[str, ...], regime: str) -> float:
        """The probability under one or two explanations: what makes it likelier, or likelier absent, prevails."""
        found = [self.under[code] for code in codes if code in self.under]
        if self.running and regime != RUNNING:
            found = []
        at = self.under.get(regime, self.usual)
        value = max(found, key=lambda each: abs(each - self.usual)) if found else at
        return min(max(value, FLOOR), 1.0 - FLOOR)
