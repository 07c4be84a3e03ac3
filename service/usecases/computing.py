"""How an edge calls what takes long: in its own process, or in another that the server has for it."""

from collections.abc import Callable
from typing import Protocol, TypeVar

T = TypeVar("T")


class Run(Protocol):
    """Calls a function that can be pickled, as all that it takes, returns and raises."""

    def __call__(self, function: Callable[..., T], *arguments: object) -> T:
        """What the function returns or raises."""
        ...


def here(function: Callable[..., T], *arguments: object) -> T:
    """What the function returns or raises, in the thread that asks."""
    return function(*arguments)
