"""HTTP and nothing else: what may come in, what is asked, what goes out.

One blueprint file an idea. Nothing in here computes, knows SQL, or reads a file by a name that
came from the net.
"""
