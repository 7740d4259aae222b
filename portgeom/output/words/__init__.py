"""Text for the terminal and JSON, and the words both share."""
