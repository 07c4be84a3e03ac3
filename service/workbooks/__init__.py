"""Tables that people keep by hand, workbooks and CSV files: read within limits, and marked. Nothing of the trade."""
