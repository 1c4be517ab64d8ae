"""What is said, and the units in which lengths are: words, errors, lengths, sizes of paper.

Everything is converted to millimetres here. May import from `plane`.
"""
