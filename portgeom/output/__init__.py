"""Text, JSON, charts, pictures, the report and mesh files. Draws results, computes none."""
