"""ISO 14229-1 services: `head` for what pairing needs, `decode` for people, `requests` and `answers` to build.

Importing names (`services`, `codes`, `names`, `head`, `timing`) loads nothing heavy; `decode`, `requests` and `answers`
load construct with their layouts.
"""
