"""Running: notebooks to pages, a unit to its dossier, and the dossier against its manifest.

Nothing is imported here: the preloaded parent and the kernels are to know no more than they need.
"""
