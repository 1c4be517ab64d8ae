"""The editor and the machine: its programs and folders, its Python, the drafter's language.

Imports only the standard library and the core's texts.
"""
