"""Pages that are printed: sheets, cards, scale bars."""
