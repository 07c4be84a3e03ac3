"""python -m service is glycol-fleet."""

from service.cli import main

main()
