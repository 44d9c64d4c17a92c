"""Hydrostatics and stability tests as pure functions: numpy arrays in, frozen dataclasses out."""

__version__ = "0.1.0"
