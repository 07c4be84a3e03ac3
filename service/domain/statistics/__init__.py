"""Statistics of failures that recur: trend, rate, cluster, shrinkage. Each refuses where the data are too few."""
