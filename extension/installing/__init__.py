"""Installing into editors, taking out, packing, and checking what is installed.

No lengths. May import from `sewing` and what lies below it.
"""
