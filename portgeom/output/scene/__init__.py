"""The port in three dimensions, by OpenGL or drawn without it."""
