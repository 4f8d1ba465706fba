"""Text set in any font file as outlines in mm; below the stages, so that all of them may use it."""
