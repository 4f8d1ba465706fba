"""From a picture to clean areas, one thread each."""
