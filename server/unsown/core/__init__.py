"""Pure computation: numpy, scipy, shapely, pyproj.

Nothing in this folder opens a file, a socket, a clock or a database. Time, chance and
settings are arguments. ``day.py`` is the whole engine on one page.
"""
