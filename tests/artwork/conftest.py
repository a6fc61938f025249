"""The same examples on every run: a test that passes today passes tomorrow."""

from hypothesis import settings

settings.register_profile("same examples", derandomize=True, deadline=None)
settings.load_profile("same examples")
