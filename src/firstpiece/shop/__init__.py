"""One function for each thing the shop does; the only place with a clock, chance and the store."""
