"""What holds for every test of a property: no example of it fails for having taken long on a busy machine.

The tests look at the same examples each time, so that they tell of a change and not of luck; `make fuzz` looks for new
ones.
"""

from hypothesis import settings

settings.register_profile("house", deadline=None, derandomize=True)
settings.register_profile("search", deadline=None, print_blob=True)
settings.load_profile("house")
