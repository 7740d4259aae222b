"""Scan meshes: reading files, joining points, and what was wrong with them."""
