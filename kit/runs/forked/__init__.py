"""The fast engine: kernels forked from a preloaded parent process, each still a fresh process of its own.

Nothing here changes what a page says, and all of it can be left closed: the engine ``plain`` (kit/runs/notebook/)
gives the same bytes, and kit/runs/engines.py is the one module that imports from here.

`parent` is that process, `owner` starts it and hands out connections to it, `kernel` is what a forked child
becomes, `provisioner` is what Jupyter sees, `fork_manager` and `quick_client` are the notebook's side.
Linux only; `owner.available` says so.
"""
