"""A TOML document made by hand: read, fitted to a struct, and every mistake named with its line and key."""
