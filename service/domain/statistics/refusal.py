"""The error where a method has too few data."""


class TooFew(ValueError):
    """Fewer data than a method needs: the method, how many there are, how many it needs."""

    def __init__(self, what: str, got: int, needed: int) -> None:
        self.what, self.got, self.needed = what, got, needed
        super().__init__(f"{what} needs at least {needed}, there are {got}")


def at_least(needed: int, got: int, what: str) -> None:
    """Raise TooFew where there are fewer than needed."""
    if got < needed:
        raise TooFew(what, got, needed)
