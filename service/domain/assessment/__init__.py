"""What the numbers of one visit say: rules as values, each with its needs, its judgement and its source."""
