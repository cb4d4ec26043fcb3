"""ISO 15031-5 / SAE J1979 services 01 to 0A: what a scan of the emissions-related systems asks and is told."""
