"""From areas to stitches."""
