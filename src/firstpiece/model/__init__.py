"""Frozen values and their checks; small properties, no algorithms."""
