"""Locates the folders shipped with the program: beside it in a checkout, inside it in a wheel."""

from pathlib import Path

PROGRAM = Path(__file__).parent


def shipped(name: str) -> Path:
    """The folder of this name, such as "migrations"; FileNotFoundError when the installation lacks it."""
    for folder in (PROGRAM / "bundled" / name, PROGRAM.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"this installation lacks its folder {name!r}; install glycol-fleet again")
