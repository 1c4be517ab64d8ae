"""Finished pieces found in a drawing, and where they have been left by their stitch line.

True millimetres. May import from `pages` and what lies below it.
"""
