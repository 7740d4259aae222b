"""Sections from a scan mesh: where it lies, the path through it, the planes and the loops."""
