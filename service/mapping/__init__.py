"""A shop's own tables as records of an import: which column is which field, and what was not understood."""
