"""The job folder: the only place that knows TOML, CSV and inches."""
