"""The first quarter of a fleet that was taken over, played day by day as an office and two technicians use the API."""
