"""How much metal is left behind every wall."""
