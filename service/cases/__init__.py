"""Archived cases: a request, the values expected of its answer, and how close they must come. Layer: service.cases."""
