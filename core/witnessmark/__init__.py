"""Witnessmark: one tamper-evident timeline of hand work and diagnostic requests on a vehicle's brakes."""

__version__ = "0.1.0"
