"""Plane geometry in millimetres; knows nothing of thread."""
