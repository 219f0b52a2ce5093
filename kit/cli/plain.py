"""Help as plain text: arguments as they are typed, no boxes, no colours, of any width."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup
from typer.models import CommandFunctionType


class PlainCommand(TyperCommand):
    """A command whose help shows its arguments as a person types them: [UNIT] TAG."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """What stands behind the command's name in its usage line."""
        return [*(name for name, _ in _arguments(self)), "[OPTIONS]"]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Arguments, then options, each with its sentence."""
        arguments = _arguments(self)
        if arguments:
            with formatter.section("Arguments"):
                formatter.write_dl(arguments)
        _write_options(self, ctx, formatter)


class PlainGroup(TyperGroup):
    """The command itself, whose help shows each command's whole sentence."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """What stands behind the command's name in its usage line."""
        return ["COMMAND", "..."]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Commands, then options."""
        with formatter.section("Commands"):
            formatter.write_dl(sentences(self, ctx))
        _write_options(self, ctx, formatter)


class PlainApp(typer.Typer):
    """An app whose commands are all plain."""

    def command(self, *args: Any, **options: Any) -> Callable[[CommandFunctionType], CommandFunctionType]:
        """Register a command."""
        return super().command(*args, **{"cls": PlainCommand, **options})


def sentences(group: Any, ctx: Any) -> list[tuple[str, str]]:
    """The commands in order, each with what it does."""
    commands = [group.get_command(ctx, name) for name in group.list_commands(ctx)]
    return [(each.name, (each.help or "").partition("\n\n")[0]) for each in commands]


def _arguments(command: Any) -> list[tuple[str, str]]:
    own = (each for each in command.params if each.param_type_name == "argument")
    return [(each.metavar, each.help or "") for each in own if each.metavar]


def _write_options(command: Any, ctx: Any, formatter: Any) -> None:
    options = (each for each in command.get_params(ctx) if each.param_type_name == "option")
    with formatter.section("Options"):
        formatter.write_dl([record for each in options if (record := each.get_help_record(ctx))])
