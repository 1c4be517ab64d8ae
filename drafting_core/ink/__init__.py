"""What a pen drew on a sheet: contours of ink, the middles of lines, closed lines, small signs.

Millimetres, numpy arrays of complex points. May import from `sewing` and what lies below it.
"""
