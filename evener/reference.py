"""The reference of the front door, written from its docstrings: `python -m evener.reference > docs/api.md`."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Iterator

import evener

INTRODUCTION = (
    "Everything the command line does is one call. This page is written from the docstrings by "
    "`python -m evener.reference > docs/api.md`; what of it is promised to stay is in `docs/promises.md`."
)


def page() -> str:
    """Return the reference as Markdown."""
    objects = {name: getattr(evener, name) for name in evener.__all__ if name != "__version__"}
    functions = {name: one for name, one in objects.items() if inspect.isfunction(one)}
    classes = {name: one for name, one in objects.items() if inspect.isclass(one)}
    errors = {name: one for name, one in classes.items() if issubclass(one, Exception)}
    lines = ["# The library", "", INTRODUCTION, "", "```python", *_example(), "```", "", "## Functions"]
    for name, function in functions.items():
        lines += _call(f"evener.{name}", function, "###")
    lines += ["", "## Objects"]
    for name, kind in classes.items():
        if name not in errors:
            lines += ["", f"### evener.{name}", "", *_text(kind)]
            for method_name, method in _methods(kind):
                lines += _call(f"{name}.{method_name}", method, "####")
    lines += ["", "## Refusals", "", "Each says what is wrong and what to do, and carries `exit_status`.", ""]
    lines += [f"- `evener.{name}`: {(_text(kind) or [''])[0]}" for name, kind in errors.items()]
    return "\n".join(lines) + "\n"


def _example() -> list[str]:
    first, *others = [line.strip() for line in (evener.__doc__ or "").splitlines() if line.startswith("    ")]
    return [first, "", *others]


def _methods(kind: type) -> Iterator[tuple[str, object]]:
    own = [one for one in reversed(kind.__mro__) if one.__module__.startswith("evener.")]
    for name, method in {name: method for one in own for name, method in vars(one).items()}.items():
        if not name.startswith("_") and inspect.isfunction(method):
            yield name, method


def _call(name: str, function: object, mark: str) -> list[str]:
    signature = inspect.signature(function)  # type: ignore[arg-type]
    names = [one for one in signature.parameters if one != "self"]
    return ["", f"{mark} {name}({', '.join(names)})", "", *_text(function)]


def _text(one: object) -> list[str]:
    """Return a docstring as Markdown: sections as bold words, what belongs to them as a list."""
    lines = (inspect.getdoc(one) or "").splitlines()
    written: list[str] = []
    for place, line in enumerate(lines):
        following = lines[place + 1] if place + 1 < len(lines) else ""
        if following and set(following) == {"-"}:
            written += [f"**{line}**", ""]
        elif set(line) == {"-"} and line:
            continue
        elif " : " in line and not line.startswith(" "):
            names, _, meaning = line.partition(" : ")
            written.append(f"- `{names}`: {meaning}")
        elif line.startswith("    ") and written and written[-1] and not written[-1].startswith("- "):
            written[-1] = f"- `{written[-1]}`: {line.strip()}"
        else:
            written.append(line)
    return written


if __name__ == "__main__":
    sys.stdout.write(page())
