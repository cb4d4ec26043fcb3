"""What holds for every test: no example of a property test fails for having taken long on a busy machine."""

from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
