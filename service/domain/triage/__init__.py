"""Triage: which explanations fit the readings of a unit, and what to measure next."""
