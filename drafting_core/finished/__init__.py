"""The finished piece: the whole job, its balance, its fold edges, its seams beside their mates.

Millimetres, radians, complex points. May import from `allowance` and what lies below it.
"""
