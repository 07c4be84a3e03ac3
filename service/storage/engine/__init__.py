"""The database engines, transactions, compiled statements and migrations."""
