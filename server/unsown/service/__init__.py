"""Load, compute, save: what the farm's own computer does. Knows no HTTP."""
