"""How a plan will sew out, before any thread is used."""
