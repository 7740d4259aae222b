"""Image files: resolution, light, scale, and the surface they were read as."""
