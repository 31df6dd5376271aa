"""Property tests here check arithmetic, not speed: a slow machine is no failure."""

from hypothesis import settings

settings.register_profile("calculations", deadline=None)
settings.load_profile("calculations")
