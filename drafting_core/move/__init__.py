"""A dart moved: how much goes where, the cuts, the turned fan, and what travels along.

Millimetres, radians, complex points. May import from `block` and what lies below it.
"""
