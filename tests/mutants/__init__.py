"""Mutation testing: change one operator or constant of a module at a time, and see whether a test fails.

`python -m tests.mutants [module ...]` from the root of a checkout. Not part of the ordinary run.
"""
