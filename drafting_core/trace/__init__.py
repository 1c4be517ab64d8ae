"""A traced scan becomes a block: pen lines, strokes, corners, seams, darts, apex.

Millimetres, numpy arrays of complex points. May import from `sewing` and what lies below it.
"""
