"""What `--help` says a value is, in words that nobody has to be a programmer for."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

# Where the parser asks for the bounds of a number; were it renamed, help would show them its own way.
BOUNDS = "_get_number_range_help_str"
KINDS = {"str": "TEXT", "list[str]": "TEXT", "path": "FILE", "int": "NUMBER", "float": "NUMBER"}


def in_plain_words(command: Any) -> Any:
    """Return a command whose help names values and bounds plainly.

    Parameters
    ----------
    command : as the parser has it
    """
    for param in command.params:
        named = _kind(param)
        param.display_type = _says(named)
        param.display_type_rich = _says(named or None)
        setattr(param, BOUNDS, _says(_bounds(getattr(param, "min", None), getattr(param, "max", None))))
        if param.param_type_name == "argument" and param.required:
            param.get_usage_pieces = _says([param.metavar or param.name.upper()])
    command.short_help = re.split(r"[:.;](?:\s|$)|\n", command.help or "", maxsplit=1)[0] + "."
    return command


def _says(said: Any) -> Callable[..., Any]:
    return lambda *_args, **_named: said


def _kind(param: Any) -> str:
    """Return what stands after a name: nothing after an argument, whose name says it."""
    if param.param_type_name == "argument" or getattr(param, "is_flag", False):
        return ""
    if param.metavar is not None:
        return str(param.metavar)
    told = param.type_descriptor
    if told.is_choice and not told.is_list:
        return "|".join(str(getattr(one, "value", one)) for one in told.choices or ())
    if told.is_path:
        return "FILE"
    return "NUMBER" if told.is_ranged else KINDS.get(param.bare_type(), "TEXT")


def _bounds(least: float | None, most: float | None) -> str | None:
    if least is None and most is None:
        return None
    if most is None:
        return f"from {least:g}"
    return f"up to {most:g}" if least is None else f"{least:g} to {most:g}"
