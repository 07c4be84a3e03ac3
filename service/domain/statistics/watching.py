"""Which failures of one item a method counts, and until when it was watched."""

from collections.abc import Sequence
from itertools import pairwise

from service.domain.statistics.refusal import at_least


def counted(ages: Sequence[float], *, end: float | None, needed: int, what: str) -> tuple[Sequence[float], float]:
    """The ages that count and the end of watching.

    With an end fixed beforehand ("time truncated") all count. With None the watching ended at the last failure
    ("failure truncated"): that one tells only the end. MIL-HDBK-189.

    Raises TooFew, and ValueError where ages do not ascend from above 0 to the end.
    """
    inner, last = (ages, end) if end is not None else (ages[:-1], ages[-1] if ages else 0.0)
    at_least(needed, len(inner), what)
    if not (inner[0] > 0.0 and inner[-1] <= last and all(first <= second for first, second in pairwise(inner))):
        raise ValueError(f"ages must ascend from above 0 to at most {last:g}")
    return inner, last
