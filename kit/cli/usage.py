"""What is said of a call that cannot be used: one line, with what was meant and where help is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final

from kit.records.cells.nearest import nearest

_EXTRA: Final = re.compile(r"\((?P<words>[^()]*)\)$")


def usage_words(error: Any, words: Sequence[str], group: Any) -> str:
    """The line for wrong usage.

    Parameters
    ----------
    error
        What the parser raised: it is told by the name of its class, since the class itself moved between versions.
    words
        What was typed behind ``strokebook``.
    group
        The command, with its commands.
    """
    name = next((each for each in words if not each.startswith("-")), "")
    command = group.commands.get(name)
    if name and command is None:
        return f"there is no command {name}.{_meant(name, group.commands)} `strokebook` lists the commands."
    said = _said(error, words, command or group, name or "strokebook")
    return f"{said} `{f'strokebook {name}'.strip()} --help` shows what it takes."


def _said(error: Any, words: Sequence[str], command: Any, called: str) -> str:
    kinds = {each.__name__ for each in type(error).__mro__}
    if "NoSuchOption" in kinds:
        known = [opt for each in command.params for opt in each.opts if opt.startswith("--")]
        return f"{called} has no option {error.option_name}.{_meant(error.option_name, known)}"
    if "MissingParameter" in kinds:
        return f"{called} needs {_named(error.param)}."
    if "BadOptionUsage" in kinds:
        option = next((each for each in command.params if error.option_name in each.opts), None)
        if option is None or option.is_flag:
            return f"{error.option_name} takes no value."
        return f"{error.option_name} needs {option.metavar or 'a value'} behind it."
    if "BadParameter" in kinds and error.param is not None:
        return _wrong_value(error, words)
    extra = _EXTRA.search(error.format_message())
    if extra is not None:
        return f"{called} takes no further word: {extra['words']}."
    return str(error.format_message())


def _wrong_value(error: Any, words: Sequence[str]) -> str:
    """An option's value that is none of those it takes."""
    option = error.param
    typed = next((_behind(words, place, each) for place, each in enumerate(words) if _is_of(each, option.opts)), "")
    choices = re.findall(r"'([^']+)'", str(error.message).partition("one of")[2])
    least = getattr(option, "min", None)
    least = getattr(getattr(option, "type", None), "min", None) if least is None else least
    if choices:
        wanted = f"one of {', '.join(choices)}"
    elif least is not None:
        wanted = f"a whole number from {least}"
    else:
        wanted = f"{option.metavar or 'something else'}"
    return f"{_named(option)} {typed}: it has to be {wanted}."


def _is_of(word: str, opts: Sequence[str]) -> bool:
    return word.partition("=")[0] in opts


def _behind(words: Sequence[str], place: int, word: str) -> str:
    _, equals, value = word.partition("=")
    return value if equals else words[place + 1] if place + 1 < len(words) else ""


def _named(parameter: Any) -> str:
    if parameter.param_type_name == "argument":
        return str(parameter.metavar or parameter.name).removeprefix("[UNIT] ")
    return str(parameter.opts[0])


def _meant(name: str, known: Any) -> str:
    close = nearest(name, known)
    return f" Was {close} meant?" if close else ""
