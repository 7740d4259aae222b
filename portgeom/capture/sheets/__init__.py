"""A port gauged by hand: the sheet's readings into planes, sections and a table."""
