"""Criteria, limits of VCG, loading conditions and the margins of a verdict."""
