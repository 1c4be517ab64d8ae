"""What a traced sheet shows: the stitch lines of blocks, their drawn cut lines, nested sizes.

Millimetres, numpy arrays of complex points. May import from `ink` and what lies below it.
"""
