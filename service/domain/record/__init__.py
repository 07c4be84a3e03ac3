"""The record: fleet, visits, readings and what is checked before they are stored."""
