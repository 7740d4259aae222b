"""Which places a cutter can get to, and along which line."""
