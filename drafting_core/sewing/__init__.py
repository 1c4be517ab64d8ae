"""A dart's cloth while it is sewn: flat, folded, trimmed, pressed.

Millimetres, radians, complex points. May import from `style` and what lies below it.
"""
