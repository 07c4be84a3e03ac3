"""The assessment of one visit: rules as values, each with its needs, its function and its source."""
