"""A year in figures: each unit's, and from these each customer's and the fleet's."""
