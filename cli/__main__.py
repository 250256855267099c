"""The program `evener`: what is heavy is imported once everything is ready for an interruption."""

from __future__ import annotations

from typing import NoReturn

from evener.cli import entry


def main() -> NoReturn:
    """Run the command line."""
    entry.hold(_commands)


def _commands() -> entry.Command:
    from evener.cli.main import app

    return app


if __name__ == "__main__":
    main()
