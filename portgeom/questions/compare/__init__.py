"""How do measured ports differ: one stage from another, one port from its siblings, and poured from computed?"""
