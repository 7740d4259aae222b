"""Outlines from pictures of slices."""
