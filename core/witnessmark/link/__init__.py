"""What an adapter gives the core: frames or messages with their stamps, events, and an address that prints back."""
