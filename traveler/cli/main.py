"""``traveler``: the command line. Parses, calls one job, presents; no rule lives here.

Every outcome becomes an exit code: 0 fine, 1 findings, 2 could not do what was asked. The one handler of
exceptions is :func:`run`; an exception nobody expected ends in one sentence and a report in a file.
"""

from __future__ import annotations

import importlib
import os
import sys
from typing import Any

import typer
from typer import exceptions

from traveler.cli.present import FAILED, CannotDo, Found, answer, defect, failure
from traveler.record.errors import StoreError

MODULES: tuple[str, ...] = (
    "demonstrating", "opening", "issuing", "recording", "adjusting", "stopping", "validating", "releasing",
    "tracing",
    "verifying",
    "complaining", "containing", "dossier",
    "learning", "watching", "tables",
    "staffing", "pinning", "keeping", "bagging", "measuring", "defining", "gauging", "gauges", "recalling",
    "attaching", "entering",
)  # fmt: skip
"""The modules whose ``register(app)`` adds commands, in the order of the help page."""

INTERRUPTED = 130
"""What typer makes of an interrupt from the keyboard."""

ABOUT = "Travelers, calibration records, release and trace for a small machine maker."


def build() -> typer.Typer:
    """The whole command line, made anew."""
    app = typer.Typer(
        name="traveler",
        help=ABOUT,
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode="rich",
        pretty_exceptions_enable=False,
        epilog="Example: traveler demo",
    )
    app.callback()(_root)
    for name in MODULES:
        importlib.import_module(f"traveler.cli.{name}").register(app)
    return app


def _root() -> None:
    """Travelers, calibration records, release and trace for a small machine maker."""


def run(arguments: list[str]) -> int:
    """Run one command and return its exit code; at worst one sentence is printed, never a traceback."""
    json_wanted = "--json" in arguments
    try:
        result = build()(args=arguments, standalone_mode=False, prog_name="traveler")
    except exceptions.Exit as done:
        return done.exit_code
    except (BrokenPipeError, SystemExit):  # typer leaves so when whoever read our output has gone
        return FAILED
    except (Exception, KeyboardInterrupt) as problem:  # noqa: BLE001 - the one handler of this shell
        return _explain(problem, json_wanted=json_wanted)
    if result == INTERRUPTED:
        return failure("interrupted", json_wanted=json_wanted)
    return result if isinstance(result, int) else 0


def _explain(problem: BaseException, *, json_wanted: bool) -> int:
    """Say what went wrong in one sentence, or list the findings, and return the exit code."""
    if isinstance(problem, CannotDo):
        return failure(problem.what, problem.hint, json_wanted=json_wanted)
    if isinstance(problem, Found):
        return answer({}, problem.findings, json_wanted=json_wanted)
    if isinstance(problem, StoreError):
        return failure(problem.what, problem.hint, json_wanted=json_wanted)
    if isinstance(problem, exceptions.TyperException):
        said = problem.format_message().rstrip(".")  # empty where the help page was the answer
        return failure(said, _usage_hint(problem), json_wanted=json_wanted) if said else FAILED
    if isinstance(problem, exceptions.Abort | KeyboardInterrupt):
        return failure("interrupted", json_wanted=json_wanted)
    if isinstance(problem, OSError):
        about = f": {problem.filename}" if problem.filename else ""
        return failure(f"{problem.strerror or problem}{about}", json_wanted=json_wanted)
    return defect(problem, json_wanted=json_wanted)


def _usage_hint(problem: Any) -> str:
    """Where to read how the command is called; empty when the help itself is the answer."""
    context = getattr(problem, "ctx", None)
    return f"see '{context.command_path} --help'" if context is not None else "see 'traveler --help'"


def main() -> None:
    """Entry point of the ``traveler`` program."""
    for stream in (sys.stdout, sys.stderr):  # a name of a file need not be valid text
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        code = run(sys.argv[1:])
        sys.stdout.flush()
    except BrokenPipeError:  # whoever read our output has gone; nothing more can be said there
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = FAILED
    sys.exit(code)
