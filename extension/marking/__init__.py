"""Marks for blocks: a role said of an object, a whole block marked by its shape, signs.

User units of the document. May import from `drafting` and what lies below it.
"""
