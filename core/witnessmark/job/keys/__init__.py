"""What each key of the person at the screen does."""
