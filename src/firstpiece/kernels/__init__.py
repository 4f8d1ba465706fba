"""Compiled loops over arrays; the only place that imports numba."""
