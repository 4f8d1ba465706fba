"""A person's edits carried out on the cleaned design: areas in, areas out, always a partition."""
