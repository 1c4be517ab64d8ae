"""What else a drafter draws on a block: found, and copied sector by sector into a result.

Places are in units of the root, with y pointing down; styles are those of the drawing. May import
the core, the document, the options and what reads blocks.
"""
