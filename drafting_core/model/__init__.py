"""What a block is made of: outlines, seams, runs and openings, allowances, settings.

Millimetres, radians, complex points. May import from `plane` and `text`.
"""
