"""The day: which cones on which needles, which job when, and what will be late."""
