"""One file a command; ``cli.py`` finds them, this folder does what they say."""
