"""When PM work is due: pure functions of dates, without a clock."""
