"""The demo record of an invented stability test, made by ``python -m fixtures.demo``."""
