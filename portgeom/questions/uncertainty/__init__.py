"""How sure are the numbers: readings with errors, drawn many times through the same loft."""
