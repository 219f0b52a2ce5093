"""The demo unit: an invented plant whose tags show every check, verdict and fault of recording."""

from kit.demo.write import DEMO_UNIT, DemoFolderError, write_demo

__all__ = ["DEMO_UNIT", "DemoFolderError", "write_demo"]
