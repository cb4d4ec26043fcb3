"""What README.md and DEVELOPERS.md show, made by running it."""
