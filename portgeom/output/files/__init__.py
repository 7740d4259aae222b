"""Files that appear whole or not at all."""
