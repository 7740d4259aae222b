"""portgeom: the shape of an engine port from the measurements taken at the bench."""

__version__ = "0.1.0"
