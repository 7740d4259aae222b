"""Charts, drawn as SVG."""
