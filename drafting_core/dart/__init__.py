"""A dart finished: its fold, its cap, whether its excess stays, its window and its marks.

Millimetres, radians, complex points. May import from `move` and what lies below it.
"""
