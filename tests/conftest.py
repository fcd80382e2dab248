"""Settings for the whole suite: the same examples every time, and no clock in a test."""

from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")
