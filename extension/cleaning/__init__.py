"""A scan cleaned up: its lines read, the clean block written, what was done told.

True millimetres in, user units out. May import from `marking` and what lies below it.
"""
