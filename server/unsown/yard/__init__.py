"""How the house is reached and who may come in: its own authority, addresses, passphrase.

Pure of HTTP: files of its own in the folder it is given, and the clock as an argument.
"""
