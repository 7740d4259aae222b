"""From a job to surfaces: the port as measured and the port wanted."""
