"""What a shop keeps between runs: its folder, its database, the results already worked out."""
