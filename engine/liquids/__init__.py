"""Water, tank liquids and their free surfaces."""
