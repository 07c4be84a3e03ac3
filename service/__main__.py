"""Run as `python -m service`, which is glycol-fleet."""

from service.cli import main

main()
