"""What the picture leaves open: questions for the customer."""
