"""A closed line of a sheet becomes a block: seams, darts, apex.

Millimetres, numpy arrays of complex points. May import from `sheet` and what lies below it.
"""
