"""The commands, from the editor's dialogs and from the terminal.

Lengths are texts here. The top of the house: may import from every other folder.
"""
