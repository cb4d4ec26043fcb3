"""Files that others recorded, read into frames, messages and conversations. Nothing here ever sends.

`open_recording` finds out what a file is; `Recording` gives its frames and DoIP messages; `read_conversations` says who
asked what, and what came of it.
"""
