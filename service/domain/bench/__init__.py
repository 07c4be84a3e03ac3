"""Bench arithmetic: what is asked, in quantities as entered, and the answer that the physics gives."""
