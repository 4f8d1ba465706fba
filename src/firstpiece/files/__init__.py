"""Bytes in and out: pictures, drawings, cards, stitch lists, documents."""
