"""Supply, motor currents, contacts and switches."""
