"""``traveler``: the command line. Parses, calls one job, presents; no rule lives here."""

from __future__ import annotations

import importlib
import sys

import click
import typer

from traveler.cli.present import FAILED, CannotDo, failure

MODULES: tuple[str, ...] = ()
"""The modules whose ``register(app)`` adds commands, in the order of the help page."""

app = typer.Typer(
    name="traveler",
    help="Travelers, calibration records, release and trace for a small machine maker.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode="rich",
    pretty_exceptions_enable=False,
)


@app.callback()
def _root() -> None:
    """Travelers, calibration records, release and trace for a small machine maker."""


def build() -> typer.Typer:
    """The whole command line."""
    for name in MODULES:
        importlib.import_module(f"traveler.cli.{name}").register(app)
    return app


def run(arguments: list[str]) -> int:
    """Run one command; every outcome becomes an exit code and, at worst, one sentence."""
    json_wanted = "--json" in arguments
    try:
        result = build()(args=arguments, standalone_mode=False)
    except CannotDo as problem:
        return failure(problem.what, problem.hint, json_wanted=json_wanted)
    except click.exceptions.Exit as done:
        return done.exit_code
    except click.UsageError as problem:
        hint = f"see '{problem.ctx.command_path} --help'" if problem.ctx else "see 'traveler --help'"
        return failure(problem.format_message(), hint, json_wanted=json_wanted)
    except (click.Abort, KeyboardInterrupt):
        return failure("interrupted", json_wanted=json_wanted)
    except OSError as problem:
        return failure(f"{problem.strerror or problem}: {problem.filename or ''}".rstrip(": "), json_wanted=json_wanted)
    return result if isinstance(result, int) else 0


def main() -> None:
    """Entry point of the ``traveler`` program."""
    try:
        code = run(sys.argv[1:])
    except BrokenPipeError:
        code = FAILED
    sys.exit(code)
