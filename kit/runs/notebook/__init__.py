"""One notebook, run in a process of its own: bytes in, bytes out.

This is the whole of a run with the engine ``plain``: `execute` calls papermill, `client` says how a cell that
ends without an answer is told, `interpreter` starts the kernel, `normalise` makes the evidence. The engine
``fast`` (kit/runs/forked/) puts another kernel in its place, by kit/runs/engines.py, and gives the same bytes.
"""
