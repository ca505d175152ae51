"""Fitting what the engine cannot know by itself, on simulated days."""
