"""Bodies afloat: hydrostatics and equilibrium."""
