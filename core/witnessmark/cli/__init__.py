"""The commands, one file each. They print and read; they open nothing but through the host."""
