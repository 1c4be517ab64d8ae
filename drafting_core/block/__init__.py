"""A drawn outline understood: its darts, its seams and their names, its grain, places on it.

Millimetres, radians, complex points. May import from `model` and what lies below it.
"""
