"""Glycol: properties, strength, mixing and protection."""
