"""Finished pieces on paper at true size: what is printed, how it is laid out and written.

True millimetres, which are millimetres on paper. May import from `comparing` and what lies below
it.
"""
