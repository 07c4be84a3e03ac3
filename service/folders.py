"""Locates the folders shipped with the program: beside it in a checkout, inside it in a wheel."""

import os
from pathlib import Path

PRIVATE_FILE, PRIVATE_FOLDER = 0o600, 0o700  # nobody but the owner of the process: customers, contacts, hashes
PROGRAM = Path(__file__).parent


def shipped(name: str) -> Path:
    """The folder of this name, such as "migrations"; FileNotFoundError when the installation lacks it."""
    for folder in (PROGRAM / "bundled" / name, PROGRAM.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"this installation lacks its folder {name!r}; install glycol-fleet again")


def private_opener(path: str, flags: int) -> int:
    """For `open(..., opener=)`: a new file belongs to the owner of the process alone, whatever the umask allows."""
    return os.open(path, flags, PRIVATE_FILE)
