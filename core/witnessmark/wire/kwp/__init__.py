"""ISO 14230-3 services (Keyword Protocol 2000): other numbers, other names and other response codes than ISO 14229-1."""
