"""When work is due: pure functions of days, never a clock."""
