"""Kernels forked from a preloaded parent process: each notebook still gets a fresh process of its own.

`parent` is that process, `owner` starts it and hands out connections to it, `kernel` is what a forked
child becomes, and `provisioner` is what Jupyter sees. Linux only; `owner.available` says so.
"""
