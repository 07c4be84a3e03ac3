"""What the product costs, as multiples of a floor that is measured in the same run: `python -m tests.benchmarks`."""
