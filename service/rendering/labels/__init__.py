"""Sheets of labels for units, with a QR code that leads to the unit's page."""
