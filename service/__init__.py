"""The HTTP face of the engine: stateless, strict, self-describing."""

__version__ = "0.1.0"
