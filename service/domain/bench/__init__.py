"""Bench arithmetic: what is inputs, in quantities as entered, and the answer that the physics gives."""
