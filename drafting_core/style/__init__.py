"""A block cut in two along a style line: the line, the parts, and whose marks are whose.

Millimetres, radians, complex points. May import from `finished` and what lies below it.
"""
