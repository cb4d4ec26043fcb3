"""Faults that a journal must survive: a long campaign with `make fault`, a short slice of each in the tests here."""
