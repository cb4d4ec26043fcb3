"""What this vehicle speaks: addresses, services, identifiers, timing, and the wire commands. It knows no nipples."""
