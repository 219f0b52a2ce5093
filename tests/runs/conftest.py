"""The small hand-made unit and the notebooks of these tests."""

from tests.small_unit import notebook, small_unit

__all__ = ["notebook", "small_unit"]
