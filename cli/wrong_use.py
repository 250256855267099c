"""What is said when a command is typed wrong: in one line what is wrong, where, and what to type."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from difflib import get_close_matches
from typing import Any

import typer
from typer.core import TyperGroup

from evener.cli.help_words import in_plain_words
from evener.cli.output import render

# The parser's class for whatever is typed wrong; its module is private to typer, this base of a public class is not.
WRONG_USE: type[Exception] = typer.BadParameter.__mro__[1]

# What the parser says of a value -> what it is to be.
VALUES = (
    (r"Input should be greater than or equal to (\S+)", r"takes a number from \1"),
    (r"Input should be greater than (\S+)", r"takes a number above \1"),
    (r"Input should be less than or equal to (\S+)", r"takes a number up to \1"),
    (r"Input should be less than (\S+)", r"takes a number below \1"),
    (r"Input should be a valid integer.*", "takes a whole number"),
    (r"Input should be a valid number.*", "takes a number"),
    (r"(?:Value error, )?'(.*)' is not one of (.*?)\.?", r"takes \2, not \1"),
)
SENTENCES = (
    (r"Option '(.*)' requires an argument", r"\1 needs a value after it"),
    (r"Got unexpected extra arguments?(?:\(s\))? \((.*)\)", r"\1 is more than it takes"),
)


class Commands(TyperGroup):
    """The table of commands; what cannot be understood is said in our own words."""

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return a command by its name, its help in plain words."""
        command = super().get_command(ctx, cmd_name)
        return None if command is None else in_plain_words(command)

    def make_context(self, *args: Any, **extra: Any) -> Any:
        """Take a command line apart; where that cannot be done, say why and leave with status 2."""
        with _told():
            return super().make_context(*args, **extra)

    def invoke(self, ctx: Any) -> Any:
        """Run the command that is meant; where its arguments are wrong, say why and leave with status 2."""
        with _told():
            return super().invoke(ctx)


@contextmanager
def _told() -> Iterator[None]:
    try:
        yield
    except WRONG_USE as error:
        if type(error).__name__.startswith("NoArgs"):  # no arguments at all: the parser prints the help
            raise
        context = getattr(error, "ctx", None)
        path = context.command_path if context is not None else "evener"
        render.complain(f"{said(error).rstrip('.')}. See: {path} --help")
        raise typer.Exit(2) from error


def said(error: Any) -> str:
    """Return what is wrong with what was typed, where, and what it takes.

    Parameters
    ----------
    error : as the parser raises it
    """
    if type(error).__name__ == "NoSuchOption":
        return f"there is no option {error.option_name}{_near(sorted(error.possibilities or ()))}"
    command = re.match(r"No such command '(.*?)'\.", error.message)
    if command:
        return f"there is no command {command[1]}{_near(get_close_matches(command[1], _commands(error), n=2))}"
    param = getattr(error, "param", None)
    if param is None:
        return _plain(error.message)
    name = param.opts[0] if param.param_type_name == "option" else (param.metavar or param.name or "").upper()
    if type(error).__name__.startswith("Missing"):
        return f"{name} is missing; type {_usage(error)}"
    return f"{name} {_value(error.message)}"


def _commands(error: Any) -> list[str]:
    return list(error.ctx.command.list_commands(error.ctx))


def _near(names: list[str]) -> str:
    return f"; did you mean {' or '.join(names)}" if names else ""


def _usage(error: Any) -> str:
    return re.sub(r"[{}]", "", " ".join(error.ctx.get_usage().removeprefix("Usage: ").split()))


def _value(message: str) -> str:
    for pattern, words in VALUES:
        found = re.fullmatch(pattern, message, re.DOTALL)
        if found:
            return found.expand(words).replace("'", "")
    return f"cannot be read: {_plain(message)}"


def _plain(message: str) -> str:
    text = message.strip().removeprefix("Value error, ").rstrip(".")
    for pattern, words in SENTENCES:
        found = re.fullmatch(pattern, text, re.DOTALL)
        if found:
            return found.expand(words)
    return text[:1].lower() + text[1:]
