"""Keeps a fleet of beer-line glycol units in order: the record, the day, and what is due."""

__version__ = "0.1.0"
