"""Settings of all tests."""

from hypothesis import settings

settings.register_profile("same-every-time", derandomize=True, deadline=None, print_blob=True)
settings.load_profile("same-every-time")
