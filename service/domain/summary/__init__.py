"""The yearly figures: one customer's year, and the fleet's."""
