"""Import jsonschema without the parsers of URIs that it would build, and that no notebook needs.

Where JupyterLab is installed beside it, jsonschema imports ``rfc3987_syntax``, which builds 35 parsers: most
of the time that papermill and nbconvert take to import. Who imports it for itself still gets it.
"""

from __future__ import annotations

import importlib
import sys
from typing import Final

_PARSERS: Final = "rfc3987_syntax"

if "jsonschema" not in sys.modules and _PARSERS not in sys.modules:
    sys.modules[_PARSERS] = None  # type: ignore[assignment]  # an import of it fails, which jsonschema allows for
    try:
        importlib.import_module("jsonschema")
    finally:
        del sys.modules[_PARSERS]
