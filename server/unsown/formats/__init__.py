"""Bytes <-> words: tracks, paddocks, rig cards, the log, maps.

Readers say what they skipped and why; what they cannot use they refuse with what was
expected, what came, where, and what to do.
"""
