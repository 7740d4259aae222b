"""Which port to aim for: the least cut that gives what is asked and leaves the walls standing."""
