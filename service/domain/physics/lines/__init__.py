"""Beer and glycol lines: tubing, trunks, heat gain, flow and pours."""
