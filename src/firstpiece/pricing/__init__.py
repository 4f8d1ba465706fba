"""From a plan and its forecast to a price."""
