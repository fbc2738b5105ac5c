"""``traveler``: the command line. Parses, calls one job, shows the answer; no rule lives here.

Every outcome becomes an exit code: 0 fine, 1 findings, 2 could not do what was asked. The one handler of
exceptions is :func:`run`; an unexpected exception ends in one sentence and a report in a file.
"""

from __future__ import annotations

import codecs
import importlib
import os
import re
import sys
from collections.abc import Iterable
from copy import copy
from typing import Annotated, Any

import typer
from typer import exceptions
from typer.core import TyperCommand, TyperGroup

from traveler.cli.answer import FAILED, Answer, Found, defect, failure, written_plainly
from traveler.cli.request import COMMANDS
from traveler.finding import CannotDo
from traveler.record.errors import StoreError
from traveler.text import NotUnderstood, near_names

ABOUT = "Travelers, calibration records, release and trace for a small machine maker."

MODULES = (
    "issue", "record", "unit", "gate", "case", "gauge", "recall", "people", "definition", "readings",
    "records", "shop",
)  # fmt: skip
"""The modules of commands; importing one adds its commands."""

VERBS = {
    "Daily work": (
        "issue", "print", "record", "enter", "adjust", "status", "validate", "stop", "note", "release",
        "crate", "place", "ship", "trace", "complain",
    ),
    "First steps": ("demo", "explain"),
}  # fmt: skip
"""The commands that are in no group, in the order of the help page."""

GROUPS = {
    "unit": "One unit: blank file, photographs, decisions, dossier.",
    "case": "Complaints: cases, common causes, containment.",
    "gauge": "Gauges: the register, calibrations, recalls, studies.",
    "people": "People: roles, authority, delegation, PINs.",
    "definition": "Product definitions and limits: check, compare.",
    "readings": "Readings: statistics, judging one, tables for other tools.",
    "records": "The records as a whole: verify, seal, back up, move.",
    "shop": "The shop: create its folder, watch what needs attention.",
}
"""The groups, in the order of the help page."""

IN_GROUPS = {
    "unit": "blank attach files strike stops decide dossier",
    "case": "list show update causes contain",
    "gauge": "list due calibrate withdraw restore recall study",
    "people": "list authority add leave delegate pin unlock",
    "definition": "check compare schema limits",
    "readings": "statistics judge export",
    "records": "verify seal export import backup restore move",
    "shop": "create watch",
}
"""The commands of each group, in the order of its help page."""

INTERRUPTED = 130
"""What typer makes of an interrupt from the keyboard."""

COMMON = ("--json", "--shop", "--help", "--install-completion", "--show-completion", "--version")
"""Options that nearly every command has; its help lists them last."""


class Command(TyperCommand):
    """A command whose help lists its arguments, its options, and those that every command has."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """The arguments as the help names them."""
        return [piece.replace("{", "").replace("}", "") for piece in super().collect_usage_pieces(ctx)]

    def get_help(self, ctx: Any) -> str:
        """The help page; no option in it is folded at a hyphen."""
        return super().get_help(ctx).replace(NO_BREAK, "-")

    def format_help_text(self, ctx: Any, formatter: Any) -> None:
        """Writes what the command does."""
        unbroken = copy(self)
        unbroken.help = _unbroken(self.help or "")
        super(Command, unbroken).format_help_text(ctx, formatter)

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Writes arguments and options as plain lists."""
        _write_parameters(self.get_params(ctx), ctx, formatter)


NO_BREAK = "\N{NON-BREAKING HYPHEN}"
"""Stands in for a hyphen while the lines of a help page are folded."""


def _unbroken(text: str) -> str:
    return text.replace("-", NO_BREAK)


class Group(TyperGroup):
    """A group of commands; the whole command line lists its daily commands under headings."""

    def get_help(self, ctx: Any) -> str:
        """The help page; no option in it is folded at a hyphen."""
        return super().get_help(ctx).replace(NO_BREAK, "-")

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Reads the arguments; without any the help page is shown.

        Raises:
            CannotDo: an option of the commands stands before the command.
        """
        early = args[0].partition("=")[0] if args else ""
        if early in ("--shop", "--json"):
            what = f"{early} stands before the command"
            raise CannotDo(what, f"write it after the command, as in: {ctx.command_path} COMMAND {early}")
        return super().parse_args(ctx, args or ["--help"])

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command that is named.

        Raises:
            CannotDo: there is none; the hint has the commands of this name elsewhere.
        """
        if self.get_command(ctx, args[0]) is None and not ctx.resilient_parsing:
            what = f"there is no command '{ctx.command_path} {args[0][:80]}'"
            raise CannotDo(what, _elsewhere(ctx, args[0]))
        return super().resolve_command(ctx, args)

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Writes the commands, then the options."""
        if ctx.parent is None:
            for panel, names in VERBS.items():
                _write_commands(panel, [(name, self.commands[name]) for name in names], formatter)
            _write_commands("Groups", [(name, self.commands[name]) for name in GROUPS], formatter)
        else:
            _write_commands("Commands", list(self.commands.items()), formatter)
        if ctx.parent is None:
            formatter.write_paragraph()
            formatter.write_text(OPTIONS)
        else:
            _write_parameters(self.get_params(ctx), ctx, formatter)


def _elsewhere(ctx: Any, name: str) -> str:
    """Where a command of this name, or of a near one, is to be found."""
    ends: dict[str, list[str]] = {}
    for path in (*COMMANDS, *GROUPS):
        ends.setdefault(path.rpartition(" ")[2], []).append(f"'traveler {path}'")
    near = [path for end in near_names(name, ends) for path in ends[end]]
    meant = f"did you mean {' or '.join(near)}? See" if near else "see"
    return f"{meant} '{ctx.command_path} --help'"


OPTIONS = """Options: -h or --help, --version, --install-completion, --show-completion."""
"""How the whole command line lists its few options."""


def _write_commands(heading: str, commands: Iterable[tuple[str, Any]], formatter: Any) -> None:
    rows = [(name.ljust(LONGEST_NAME), _first_sentence(command.help)) for name, command in commands]
    with formatter.section(heading):
        formatter.write_dl(rows)


LONGEST_NAME = 10
"""Characters of the longest name on a help page, so that all its lists stand in line."""


def _first_sentence(text: str) -> str:
    return " ".join(text.split("\n\n", maxsplit=1)[0].split()).rstrip(".")


def _write_parameters(parameters: Iterable[Any], ctx: Any, formatter: Any) -> None:
    listed: dict[str, list[tuple[str, str]]] = {"Arguments": [], "Options": [], "Common options": []}
    for parameter in parameters:
        called, text = parameter.get_help_record(ctx)
        record = called, _unbroken(re.sub(r"\[(.*?)x>=([0-9]+)(.*?)\]", r"[\1at least \2\3]", text))
        if parameter.param_type_name == "argument":
            listed["Arguments"].append((parameter.metavar, record[1]))
        else:
            listed["Common options" if set(parameter.opts) & set(COMMON) else "Options"].append(record)
    for heading, rows in listed.items():
        if rows:
            with formatter.section(heading):
                formatter.write_dl(rows)


def build() -> typer.Typer:
    """The whole command line."""
    app = typer.Typer(
        name="traveler", help=ABOUT, cls=Group, rich_markup_mode=None,
        pretty_exceptions_enable=False, context_settings={"help_option_names": ["-h", "--help"]},
        epilog="Exit codes: 0 fine, 1 findings, 2 could not do it. Begin with: traveler demo",
    )  # fmt: skip
    app.callback()(_root)
    groups = {name: typer.Typer(help=about, cls=Group) for name, about in GROUPS.items()}
    for module in MODULES:
        importlib.import_module(f"traveler.cli.{module}")
    order = [name for names in VERBS.values() for name in names]
    order += [f"{group} {name}" for group, names in IN_GROUPS.items() for name in names.split()]
    for path, listed in sorted(COMMANDS.items(), key=lambda item: order.index(item[0])):
        group, _, name = path.rpartition(" ")
        settings = {"ignore_unknown_options": True} if listed.numbers else {}
        home = groups[group] if group else app
        home.command(name=name, cls=Command, context_settings=settings)(listed.called)
    for name, group_app in groups.items():
        app.add_typer(group_app, name=name)
    return app


def _show_version(wanted: bool) -> None:
    """Shows the version and ends the program."""
    if wanted:
        from importlib.metadata import version

        print(f"traveler {version('traveler')}")
        raise typer.Exit


def _root(
    version: Annotated[bool, typer.Option("--version", callback=_show_version, is_eager=True)] = False,
) -> None:
    """Travelers, calibration records, release and trace for a small machine maker."""


def run(arguments: list[str]) -> int:
    """Runs one command and returns its exit code; at worst one sentence is printed, never a traceback."""
    json_wanted = "--json" in arguments
    try:
        result = build()(args=arguments, standalone_mode=False, prog_name="traveler")
    except exceptions.Exit as done:
        return done.exit_code
    except (BrokenPipeError, SystemExit) as left:  # completion leaves so, and typer where the reader has gone
        return 0 if isinstance(left, SystemExit) and not left.code else FAILED
    except (Exception, KeyboardInterrupt) as problem:  # noqa: BLE001 - the one handler of this shell
        return _explain(problem, json_wanted=json_wanted)
    if result == INTERRUPTED:
        return failure("interrupted", json_wanted=json_wanted)
    return result if isinstance(result, int) else 0


def _explain(problem: BaseException, *, json_wanted: bool) -> int:
    """Explains in one sentence what went wrong, or lists the findings, and returns the exit code."""
    if isinstance(problem, CannotDo | NotUnderstood | StoreError):
        return failure(problem.what, problem.hint, json_wanted=json_wanted)
    if isinstance(problem, Found):
        return Answer({}, findings=problem.findings, undone="Nothing was done.").show(json_wanted=json_wanted)
    if isinstance(problem, exceptions.TyperException):
        text = _wrong_value(problem) or problem.format_message().rstrip(".")
        return failure(text, _usage_hint(problem), json_wanted=json_wanted)
    if isinstance(problem, exceptions.Abort | KeyboardInterrupt):
        return failure("interrupted", json_wanted=json_wanted)
    if isinstance(problem, OSError):
        about = f": {problem.filename}" if problem.filename else ""
        return failure(f"{problem.strerror or problem}{about}", json_wanted=json_wanted)
    return defect(problem, json_wanted=json_wanted)


WANTED = {
    "int_parsing": "a whole number", "int_from_float": "a whole number", "float_parsing": "a number",
    "greater_than_equal": "at least {ge}", "less_than_equal": "at most {le}",
}  # fmt: skip
"""Kind of a value that is not taken → what is wanted."""


def _wrong_value(problem: Any) -> str:
    """What is wrong with the value of an option or argument, in our words; empty where it is not known."""
    errors, parameter = getattr(problem.__cause__, "errors", None), getattr(problem, "param", None)
    wrong = errors()[0] if errors is not None else {}
    wanted = WANTED.get(wrong.get("type", ""))
    if parameter is None:
        return ""
    name = parameter.metavar if parameter.param_type_name == "argument" else parameter.opts[0]
    if wanted is None:
        return f"{name}: {wrong['msg'].removeprefix('Value error, ')}" if wrong else ""
    return f"{name} must be {wanted.format(**wrong.get('ctx', {}))}, found '{wrong['input']}'"


def _usage_hint(problem: Any) -> str:
    """Where to read how the command is called."""
    context = getattr(problem, "ctx", None)
    return f"see '{context.command_path} --help'" if context is not None else "see 'traveler --help'"


def main() -> None:
    """Entry point of the ``traveler`` program."""
    codecs.register_error("plainly", written_plainly)
    for stream in (sys.stdout, sys.stderr):  # a name of a file need not be valid text
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="plainly")
    try:
        code = run(sys.argv[1:])
        sys.stdout.flush()
    except BrokenPipeError:  # the reader of our output has gone; nothing more can be written there
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = FAILED
    sys.exit(code)


if __name__ == "__main__":
    main()
