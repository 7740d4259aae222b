"""What flows through a port: arithmetic on its sections, its valve and its bench readings."""
