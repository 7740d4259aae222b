"""Outlines, paths, section planes, lofts and closed meshes. Knows nothing of engines."""
