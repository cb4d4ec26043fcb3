"""Bytes to meaning and back, sans-IO: no module here opens, waits for or times anything."""
