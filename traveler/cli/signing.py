"""Where a PIN comes from: a file, the terminal, the environment; never an argument, which all can see."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from traveler.cli.present import CannotDo, Found
from traveler.finding import blocking

if TYPE_CHECKING:
    from traveler.shop.session import Session

VARIABLE = "TRAVELER_PIN"
LONGEST = 100
"""Characters of a line with a PIN; more is another kind of file."""


@dataclass(frozen=True, slots=True)
class Signer:
    """Who signs what, and the file with their PIN if one was named."""

    by: str
    action: str
    pin_file: Path | None

    def signed(self, session: Session) -> Session:
        """The office once they signed in; see :func:`signed_in`."""
        return signed_in(session, self.by, self.action, self.pin_file)


def signed_in(session: Session, by: str, action: str | None, pin_file: Path | None) -> Session:
    """The office in which the PIN of ``by`` counts as given, if the action asks them for one.

    Where no PIN is to be had the office comes back as it was, and the job says that it asks for one.

    Raises:
        Found: the PIN was wrong, or is not taken now.
        CannotDo: the file with the PIN cannot be read.
    """
    from traveler.jobs.sign import asks_pin

    if action is None or not asks_pin(session, action, by):
        return session
    return proven(session, by, pin_file)


def proven(session: Session, by: str, pin_file: Path | None) -> Session:
    """As :func:`signed_in`, whatever the action.

    Raises:
        Found, CannotDo: as there.
    """
    from traveler.jobs.sign import sign_in

    pin = asked_pin(f"PIN of {by}: ", pin_file)
    if pin is None:
        return session
    done = sign_in(session, by, pin)
    if blocking(done.findings):
        raise Found(done.findings)
    for finding in done.findings:
        print(f"{finding} ({finding.weight})", file=sys.stderr)
    return done.session


def asked_pin(prompt: str, pin_file: Path | None) -> str | None:
    """The PIN from the file named, else from the terminal, else from ``TRAVELER_PIN``; None: from nowhere.

    Raises:
        CannotDo: the file cannot be read.
    """
    if pin_file is not None:
        return first_line(pin_file)
    if sys.stdin is not None and sys.stdin.isatty():
        return typed(prompt)
    return os.environ.get(VARIABLE)


def typed(prompt: str) -> str:
    """What somebody types on the terminal, unseen."""
    from getpass import getpass

    return getpass(prompt, sys.stderr)


def first_line(file: Path) -> str:
    """The first line of a file without its end; ``-`` is standard input.

    Raises:
        CannotDo: there is no such file, or no text in it.
    """
    try:
        if str(file) == "-":
            line = sys.stdin.readline(LONGEST)
        else:
            with file.open(encoding="utf-8-sig") as opened:
                line = opened.readline(LONGEST)
    except (OSError, ValueError) as problem:
        what = f"the PIN cannot be read from {file}"
        raise CannotDo(what, "put it into the first line of a text file") from problem
    return line.rstrip("\r\n")
