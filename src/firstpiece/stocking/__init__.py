"""What is needed against what is there: buying lists, substitutes and reorder points."""
