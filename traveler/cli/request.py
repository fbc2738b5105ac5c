"""What every command is asked with: the shop, the clock, the person, their PIN, and how to answer.

A command is a function of a :class:`Request` and of what is its own; :func:`command` adds the options that
many commands share, each defined once here, and shows the answer.
"""

from __future__ import annotations

import inspect
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, Protocol, TypeVar, get_type_hints
from zoneinfo import ZoneInfo

import typer

from traveler.cli.answer import Found, show_findings
from traveler.finding import CannotDo, Finding, blocking
from traveler.text import NotUnderstood, read_day, read_moment, read_start

if TYPE_CHECKING:
    from traveler.shop.folder import Shop as OpenShop
    from traveler.shop.session import Session

MOST = 200
"""So many serials are offered for completion."""


def arg(metavar: str, help: str, **more: Any) -> Any:
    """An argument: how the help page names it, and what it is."""
    return typer.Argument(metavar=metavar, help=help, **more)


def opt(metavar: str, help: str, *names: str, **more: Any) -> Any:
    """An option with a value; its name is that of the parameter unless it is given."""
    return typer.Option(*names, metavar=metavar, help=help, **more)


def flag(help: str, *names: str) -> Any:
    """An option without a value."""
    return typer.Option(*names, help=help)


def _offered(listed: Callable[[OpenShop, str], Iterable[str]]) -> Callable[[str], list[str]]:
    """Offers what ``listed`` finds in the shop at hand; nothing where there is none or anything is wrong."""

    def offer(incomplete: str) -> list[str]:
        from traveler.shop.folder import find_folder, open_shop

        try:
            named = os.environ.get("TRAVELER_SHOP")
            folder = Path(named) if named else find_folder(Path.cwd())
            shop = open_shop(folder).shop if folder is not None else None
            return (
                [] if shop is None else [text for text in listed(shop, incomplete) if _fits(text, incomplete)]
            )
        except Exception:  # noqa: BLE001 - while somebody types, no answer is the answer to any trouble
            return []

    return offer


def _fits(text: str, incomplete: str) -> bool:
    return text.lower().startswith(incomplete.lower())


def _serials(shop: OpenShop, incomplete: str) -> Iterable[str]:
    from traveler.record.store import Store

    address = os.environ.get("TRAVELER_DATABASE") or shop.settings.database
    with Store.open(address, folder=shop.folder, create=False) as store, store.reading() as records:
        found = (unit.serial for unit in records.units())
        return [serial for serial in found if _fits(serial, incomplete)][:MOST]


complete_serials = _offered(_serials)
complete_people = _offered(
    lambda shop, _: (person.id for person in shop.people.people if person.left is None)
)
complete_gauges = _offered(lambda shop, _: (gauge.id for gauge in shop.gauges.gauges))
complete_products = _offered(lambda shop, _: (file.stem for file in shop.product_defs.glob("*.yaml")))

Shop = Annotated[
    Path | None,
    opt(
        "DIR",
        "The shop's folder. Without it: the nearest folder from here upwards that has a shop.yaml.",
        "--shop",
        envvar="TRAVELER_SHOP",
        show_envvar=True,
    ),
]
Json = Annotated[bool, flag("Answer with one JSON document.", "--json")]
By = Annotated[str | None, opt("ID", "Person: id from people.yaml.", "--by", autocompletion=complete_people)]
At = Annotated[str | None, opt("TIME", "When it was done: 2026-11-02T14:30. Without it: now.", "--at")]
Language = Annotated[
    str | None,
    opt(
        "L",
        "Language of the sheets: en, es, or two on one sheet: es+en. Without it: as in shop.yaml.",
        "--language",
    ),
]
PinFile = Annotated[
    Path | None,
    opt("FILE", "File with the PIN (- is standard input). Without it: asked on the terminal.", "--pin-file"),
]
SHARED = {"by": By, "at": At, "pin_file": PinFile, "language": Language, "json_wanted": Json, "shop": Shop}
"""Name of a parameter → the option that many commands share."""

# ---- arguments and options that mean the same in every command that has them

_SERIAL = "Serial number, or its last characters where no other unit ends so."
Serial = Annotated[str, arg("SERIAL", _SERIAL, autocompletion=complete_serials)]
Serials = Annotated[list[str], arg("SERIAL", _SERIAL, autocompletion=complete_serials)]
SomeSerials = Annotated[list[str] | None, arg("SERIAL", _SERIAL, autocompletion=complete_serials)]
Slot = Annotated[str | None, opt("SLOT", "Slot id, as in 'unit blank'.", "--slot")]
Product = Annotated[str, arg("PRODUCT", "Product: name of its definition.", autocompletion=complete_products)]
Gauge = Annotated[str | None, opt("ID", "Gauge, as on its label.", "--gauge", autocompletion=complete_gauges)]
Since = Annotated[str | None, opt("DAY", "First day, as 2026-09-14, or the last 7d, 8w, 6m, 1y.", "--since")]
Until = Annotated[str | None, opt("DAY", "Last day, as 2026-09-30.", "--until")]
Reason = Annotated[str, opt("TEXT", "Why.", "--reason")]
Reports = Annotated[
    list[Path] | None,
    opt("FILE", "Write it into this file as well; its ending says how. May repeat.", "--to"),
]


PIN_VARIABLE = "TRAVELER_PIN"
LONGEST_LINE = 100
"""Characters of a line with a PIN; more is another kind of file."""


@dataclass(frozen=True, slots=True)
class Request:
    """The options every command shares, as a person gave them."""

    folder: Path | None = None
    json_wanted: bool = False
    by: str | None = None
    at: str | None = None
    pin_file: Path | None = None
    language: str | None = None

    @property
    def person(self) -> str:
        """The id of the person who does it.

        Raises:
            CannotDo: ``--by`` was not given.
        """
        if self.by is None:
            what = "the person who does it is missing"
            raise CannotDo(what, "give --by ID")
        return self.by

    @contextmanager
    def session(self, action: str | None = None) -> Iterator[Session]:
        """The open shop; the person who does the ``action`` has given their PIN, where it asks for one.

        Warnings about the shop's files go to stderr. ``TRAVELER_DATABASE`` names other records than
        ``shop.yaml`` does.

        Raises:
            CannotDo: there is no shop, or no words for its sheets in this language.
            Found: its files have blocking findings, or the PIN was refused.
            StoreError: its records cannot be opened.
        """
        from traveler.jobs.open import open_session

        database = os.environ.get("TRAVELER_DATABASE") or None
        opened = open_session(self.shop_folder(), now(), database=database)
        if opened.session is None:
            raise Found(opened.findings)
        show_findings(finding for finding in opened.findings if not blocking([finding]))
        with opened.session.store:
            session = self._speaking(opened.session)
            yield session if action is None else self.signed(session, action)

    def _speaking(self, session: Session) -> Session:
        if self.language is None:
            return session
        from traveler.sheets.templates import templates
        from traveler.sheets.words import why_not

        if problem := why_not(self.language, templates(session.shop.folder)):
            raise CannotDo(problem, "name one, like --language es, or two for one sheet, like es+en")
        return replace(session, language=self.language)

    def shop_folder(self) -> Path:
        """The folder given, else the nearest one upwards with a ``shop.yaml``.

        Raises:
            CannotDo: there is no shop.
        """
        from traveler.shop.folder import SHOP_FILE, find_folder

        hint = "go into a shop's folder, name one with --shop DIR, or make one: traveler shop create DIR"
        if self.folder is None:
            found = find_folder(Path.cwd())
            if found is None:
                what = f"there is no shop in {Path.cwd()} nor above it"
                raise CannotDo(what, hint)
            return found
        if not (self.folder / SHOP_FILE).is_file():
            what = f"there is no shop in {self.folder}: no {SHOP_FILE}"
            raise CannotDo(what, hint)
        return self.folder

    def moment(self, session: Session) -> datetime:
        """When it was done: ``--at`` in the shop's zone unless it names its own; without it the present.

        Raises:
            CannotDo: it is not a date with a time, or lies in the future.
        """
        if self.at is None:
            return session.now
        moment = read_moment(self.at, session.shop.zone)
        if moment > session.now + session.shop.settings.clock_slack:
            present = shown(session.now, session.shop.settings.time_zone)
            what = f"--at: {self.at.strip()} is in the future; it is {present} now"
            raise CannotDo(what, "give the time when it was done")
        return moment

    def signed(self, session: Session, action: str | None) -> Session:
        """The session in which the PIN of ``--by`` counts as given, if the action asks them for one.

        Where no PIN is to be had the session comes back as it was, and the job asks for one.

        Raises:
            Found: the PIN was wrong, or is not taken now.
            CannotDo: the file with the PIN cannot be read.
        """
        from traveler.jobs.sign import asks_pin

        if action is None or not asks_pin(session, action, self.person):
            return session
        return proven(session, self.person, self.pin_file)


def proven(session: Session, person: str, pin_file: Path | None) -> Session:
    """The session in which this person's PIN counts as given; see :meth:`Request.signed`.

    The PIN comes from the file named, else from the terminal, else from ``TRAVELER_PIN``; never from an
    argument, which everybody can see.

    Raises:
        Found, CannotDo: as there.
    """
    from traveler.jobs.sign import sign_in

    if pin_file is not None:
        pin: str | None = first_line(pin_file)
    elif at_keyboard():
        pin = typed(f"PIN of {person}: ")
    else:
        pin = os.environ.get(PIN_VARIABLE)
    if pin is None:
        return session
    done = sign_in(session, person, pin)
    if blocking(done.findings):
        raise Found(done.findings)
    show_findings(done.findings)
    return done.session


def at_keyboard() -> bool:
    """Whether a person sits at a terminal and can be asked."""
    return sys.stdin is not None and sys.stdin.isatty()


def confirmed(findings: Iterable[Finding]) -> bool:
    """Whether a person at the terminal, shown these findings, goes on all the same; nobody there: no."""
    if not at_keyboard():
        return False
    show_findings(findings)
    print("Record it all the same? [y/N] ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().lower() in ("y", "yes")


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
            line = sys.stdin.readline(LONGEST_LINE)
        else:
            with file.open(encoding="utf-8-sig") as opened:
                line = opened.readline(LONGEST_LINE)
    except (OSError, ValueError) as problem:
        what = f"the PIN cannot be read from {file}"
        raise CannotDo(what, "put it into the first line of a text file") from problem
    return line.rstrip("\r\n")


# ---- the clock


def now() -> datetime:
    """The present moment in UTC, or that of ``TRAVELER_NOW`` (for demonstrations and tests).

    Raises:
        CannotDo: ``TRAVELER_NOW`` is not a time with a zone.
    """
    given = os.environ.get("TRAVELER_NOW")
    if not given:
        return datetime.now(UTC)
    with suppress(NotUnderstood):
        moment = read_moment(given)
        if moment.tzinfo is not None:
            return moment.astimezone(UTC)
    what = f"TRAVELER_NOW is {given!r}, which is not a time with a zone"
    raise CannotDo(what, "write it as 2026-11-02T14:30:00+01:00, or unset it")


def shown(moment: datetime, zone: str) -> str:
    """The time as the shop's wall clock shows it: ``2026-11-02 14:30``."""
    return moment.astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M")


def first_moment(session: Session, since: str) -> datetime:
    """The moment that ``--since`` begins at in the shop: of a day, or so long before today.

    Raises:
        CannotDo: it is neither.
    """
    return datetime.combine(read_start(since, session.today), time.min, session.shop.zone)


def last_moment(session: Session, until: str) -> datetime:
    """The last moment of the day of ``--until`` in the shop.

    Raises:
        CannotDo: it is not a day.
    """
    return datetime.combine(read_day(until), time.max, session.shop.zone)


def maybe_day(text: str | None) -> date | None:
    """The day that was given with an option; None where it was not.

    Raises:
        CannotDo: it is not a day.
    """
    return None if text is None else read_day(text)


# ---- commands


class Shown(Protocol):
    """An answer that can be shown."""

    def show(self, *, json_wanted: bool) -> int:
        """Prints it and returns the exit code."""


_Function = TypeVar("_Function", bound=Callable[..., Shown])


@dataclass(frozen=True, slots=True)
class Listed:
    """A command as it is added to the command line."""

    called: Callable[..., int]
    numbers: bool


COMMANDS: dict[str, Listed] = {}
"""Every command by its full name, such as ``gauge due``; importing the modules of commands fills it."""


def command(
    name: str,
    *,
    by: Literal["needed", "optional"] | None = None,
    at: bool = False,
    pin: bool = False,
    language: bool = False,
    shop: bool = True,
    numbers: bool = False,
) -> Callable[[_Function], _Function]:
    """Makes a function of a request the command of this full name, with the shared options it asks for.

    ``numbers``: an argument may begin with a minus.
    """
    used = {"by": by is not None, "at": at, "pin_file": pin, "language": language, "json_wanted": True}
    shared = [option for option, wanted in (used | {"shop": shop}).items() if wanted]

    def add(function: _Function) -> _Function:
        def called(**given: Any) -> int:
            common = {option: given.pop(option) for option in shared}
            request = Request(folder=common.pop("shop", None), **common)
            answer: Shown = function(request, **given)
            return answer.show(json_wanted=request.json_wanted)

        called.__doc__ = function.__doc__
        _declare(called, function, [(option, SHARED[option], _default(option, by)) for option in shared])
        COMMANDS[name] = Listed(called, numbers)
        return function

    return add


def _default(option: str, by: str | None) -> object:
    if option == "by" and by == "needed":
        return inspect.Parameter.empty
    return False if option == "json_wanted" else None


def _declare(
    called: Callable[..., int], function: Callable[..., object], shared: Iterable[tuple[str, Any, object]]
) -> None:
    """Gives the command its own parameters, then the shared ones, as if they were written there."""
    own = get_type_hints(function, include_extras=True)
    _, *parameters = inspect.signature(function).parameters.values()
    listed = [each.replace(annotation=own[each.name], kind=_KEYWORD) for each in parameters]
    listed += [
        inspect.Parameter(name, _KEYWORD, annotation=hint, default=default) for name, hint, default in shared
    ]
    called.__signature__ = inspect.Signature(listed)  # type: ignore[attr-defined]
    called.__annotations__ = {each.name: each.annotation for each in listed}


_KEYWORD = inspect.Parameter.KEYWORD_ONLY
