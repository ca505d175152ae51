"""Unsown: which ground a towed seeder left bare, how sure that is, and what was sown twice."""

__version__ = "0.1.0"
