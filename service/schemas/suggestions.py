"""What somebody probably meant who wrote a field or a code that there is not."""

from collections.abc import Collection
from difflib import get_close_matches
from functools import lru_cache

LONGEST = 64
LEAST_BEGUN = 4  # letters that begin one word alone


def did_you_mean(given: object, known: Collection[str]) -> str:
    """A question that names the closest of what is known, empty where nothing is close.

    >>> did_you_mean("arived_at", ["arrived_at", "left_at"]), did_you_mean("colour", ["code", "name"])
    (' Did you mean "arrived_at"?', '')
    >>> did_you_mean("warm", ["foaming", "warm_pour"]), did_you_mean("cond", ["condenser_fan", "condenser_clean"])
    (' Did you mean "warm_pour"?', '')
    """
    if not isinstance(given, str) or len(given) > LONGEST:
        return ""
    return _question(given.lower(), tuple(sorted(known)))


@lru_cache(maxsize=1024)
def _question(given: str, known: tuple[str, ...]) -> str:
    begins = [each for each in known if each.startswith(given)] if len(given) >= LEAST_BEGUN else []
    close = get_close_matches(given, known, n=1, cutoff=0.7) or (begins if len(begins) == 1 else [])
    return f' Did you mean "{close[0]}"?' if close else ""
