"""Statistics of failures that recur: rate, cluster, mean cumulative function, slope. Each refuses too few data."""
