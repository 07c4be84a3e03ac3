"""Where the folders lie that are shipped beside the program: in a checkout next to it, in a wheel inside it."""

from pathlib import Path

PROGRAM = Path(__file__).parent


def shipped(name: str) -> Path:
    """The folder of this name, such as "migrations"; FileNotFoundError when the installation lacks it."""
    for folder in (PROGRAM / "bundled" / name, PROGRAM.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"this installation lacks its folder {name!r}; install glycol-fleet again")
