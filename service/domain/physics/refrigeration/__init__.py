"""The refrigeration circuit: refrigerants, saturation, cycle, condenser and capacity."""
