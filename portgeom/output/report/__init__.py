"""The one page with all of it."""
