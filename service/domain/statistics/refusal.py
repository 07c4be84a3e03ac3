"""The refusal where a test has too few data to say anything."""


class TooFew(ValueError):
    """Fewer data than a method needs: what was asked, how many there are, how many it takes."""

    def __init__(self, what: str, got: int, needed: int) -> None:
        self.what, self.got, self.needed = what, got, needed
        super().__init__(f"{what} needs at least {needed}, there are {got}")


def at_least(needed: int, got: int, what: str) -> None:
    """Raise TooFew where there are fewer than needed."""
    if got < needed:
        raise TooFew(what, got, needed)
