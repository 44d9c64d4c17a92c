"""The endpoints, one module a family."""
