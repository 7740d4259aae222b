"""Templates to cut out: which outlines, and how they are made into gauges."""
