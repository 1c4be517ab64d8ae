"""Places of a dart side by side on one page, and seams beside their mates.

Millimetres on paper. May import from `cleaning` and what lies below it.
"""
