"""A day on the road: travel, opening hours, the order of stops, and what does not fit."""
