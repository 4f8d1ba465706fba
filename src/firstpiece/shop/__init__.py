"""What the shop does, one function a thing; the only floor with a clock, chance and the store."""
