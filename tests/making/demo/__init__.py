"""The maker of the demo unit: a story for every tag, and the rows and recordings that it leaves.

``python -m tests.making.demo`` writes the committed unit and its page of the guide anew. ``unit.toml`` and
``instruments.csv`` are written by hand, where they lie.
"""
