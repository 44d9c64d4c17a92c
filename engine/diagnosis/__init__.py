"""Live guidance while the weights are on deck, and what went wrong."""
