"""What is in a van, and what a day is likely to need."""
