"""Why the same kind of part keeps failing: chance, a listed cause, or an unexplained excess."""
