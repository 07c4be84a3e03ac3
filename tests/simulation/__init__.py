"""Fleets with planted causes and known truth, and what rules and the engine find in them."""
