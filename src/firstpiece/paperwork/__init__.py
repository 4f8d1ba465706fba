"""Drawn pages and pictures; writes no files."""
