"""What a Python file does, apart from how it is written down: its compiled code without docstrings and lines."""

from __future__ import annotations

import dis
import inspect
import itertools
import sys
from importlib.machinery import SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any, Final, cast

_HEAD: Final = 16  # instructions within which a module or class body has put its docstring in its place


def code_meaning(path: Path) -> bytes:
    """All that the file's code does, and nothing of its comments, docstrings, blank lines and line breaks.

    The code is what Python itself runs, as it stands in its own cache of compiled files. A docstring that is
    worded like a text of the same body is told from it no more: a test keeps the package free of such.
    Python 3.13 and later keep the line on which a class begins, so that a line added above it counts there.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     one, two = Path(folder, "one.py"), Path(folder, "two.py")
    ...     _ = one.write_text("def f(x):\\n    return x + 1\\n"), two.write_text("def f(x): return x + 1  # next\\n")
    ...     code_meaning(one) == code_meaning(two)
    True
    """
    code = cast("CodeType", SourceFileLoader(path.stem, str(path)).get_code(path.stem))  # a source always has some
    return repr(_meaning(code)).encode()


def _meaning(code: CodeType) -> tuple[Any, ...]:
    docstring = _docstring_place(code)
    constants = [None if place == docstring else _constant(each) for place, each in enumerate(code.co_consts)]
    return (
        code.co_qualname,
        code.co_flags,
        (code.co_argcount, code.co_posonlyargcount, code.co_kwonlyargcount),
        (code.co_names, code.co_varnames, code.co_freevars, code.co_cellvars),
        code.co_code,
        code.co_exceptiontable,
        constants,
    )


def _constant(value: Any) -> Any:
    if isinstance(value, CodeType):
        return _meaning(value)
    if isinstance(value, tuple):
        return tuple(_constant(each) for each in value)
    if isinstance(value, frozenset):  # its order differs from process to process
        return ("frozenset", sorted(repr(_constant(each)) for each in value))
    return value


def _docstring_place(code: CodeType) -> int | None:
    """Where the docstring stands among the constants; None: there is none."""
    if code.co_flags & inspect.CO_OPTIMIZED:
        return 0 if _function_has_docstring(code) else None
    instructions = list(itertools.islice(dis.get_instructions(code), _HEAD))
    for loaded, stored in itertools.pairwise(instructions):
        if stored.opname == "STORE_NAME" and stored.argval == "__doc__" and loaded.opname == "LOAD_CONST":
            return loaded.arg
    return None


def _function_has_docstring(code: CodeType) -> bool:
    if sys.version_info >= (3, 13):
        return bool(code.co_flags & inspect.CO_HAS_DOCSTRING)
    named = not code.co_name.startswith("<")  # a lambda and a comprehension have none
    return named and bool(code.co_consts) and isinstance(code.co_consts[0], str)
