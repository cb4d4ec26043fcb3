"""Doing the job: what comes next, what may be sent, the life of an actuation, and the process that owns the wire."""
