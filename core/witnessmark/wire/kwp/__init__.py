"""ISO 14230-3 services (Keyword Protocol 2000): numbers, names and response codes differ from ISO 14229-1."""
