"""``traveler pin set`` and ``pin unlock``: a person's PIN, and another try for somebody locked out."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from traveler.cli.options import By, Json, PinFile, Shop
from traveler.cli.present import CannotDo, Found, answer
from traveler.cli.shop_at import session_at
from traveler.cli.signing import first_line, proven, signed_in, typed
from traveler.finding import blocking

if TYPE_CHECKING:
    from traveler.shop.session import Session

Whose = Annotated[str, typer.Argument(metavar="PERSON", help="Whose PIN: an id from people.yaml.")]


def register(app: typer.Typer) -> None:
    """Add the group ``pin``."""
    group = typer.Typer(no_args_is_help=True, help="PINs: set one, or let somebody try again.")
    app.add_typer(group, name="pin")
    group.command(name="set")(set_pin)
    group.command(name="unlock")(unlock)


def set_pin(
    person: Whose,
    by: Annotated[
        str | None,
        typer.Option("--by", metavar="ID", help="Who sets it, if it is not the person's own doing."),
    ] = None,
    new: Annotated[
        Path | None,
        typer.Option(
            "--pin-file",
            metavar="FILE",
            help="File with the new PIN (- is standard input). Without it: asked.",
        ),
    ] = None,
    present: Annotated[
        Path | None,
        typer.Option("--by-pin-file", metavar="FILE", help="File with the present PIN of whoever sets it."),
    ] = None,
    json_wanted: Json = False,
    shop: Shop = None,
) -> int:
    """Set a person's PIN: its argon2id hash goes into people.yaml, the PIN itself nowhere.

    A person changes their own with the one they have. A first PIN is set by somebody who may enrol people, or
    freely as long as none of those has one; a PIN that was forgotten is replaced by quality or the director.

    Example: traveler pin set qmoor
    """
    from traveler.jobs.sign import may_set_pin
    from traveler.jobs.sign import set_pin as job

    who = by or person
    with session_at(shop) as session:
        signed = _setter(session, person, who, present)
        refused = may_set_pin(signed, person, who)
        if blocking(refused):
            raise Found(refused)
        done = job(signed, person, _new_pin(person, new), who)
    result = {"person": person, "file": str(done.file) if done.file is not None else None}
    text = f"{person}: PIN set by {who}, in {done.file}" if done.done else ""
    return answer(result, done.findings, text=text, json_wanted=json_wanted)


def unlock(
    person: Whose, by: By, pin_file: PinFile = None, json_wanted: Json = False, shop: Shop = None
) -> int:
    """Let somebody who was locked out try their PIN again at once. Quality or the director may.

    Example: traveler pin unlock pstrap --by qmoor
    """
    from traveler.jobs.sign import unlock as job

    with session_at(shop) as session:
        done = job(signed_in(session, by, "unlock", pin_file), person, by)
    text = f"{person}: may try again" if done.done else ""
    return answer({"person": person, "done": done.done}, done.findings, text=text, json_wanted=json_wanted)


def _setter(session: Session, person: str, who: str, present: Path | None) -> Session:
    """The office once whoever sets the PIN gave their own, if they have one."""
    known = session.shop.people.get(who)
    if known is None or known.pin is None:
        return session
    if who == person:
        return proven(session, who, present)
    owner = session.shop.people.get(person)
    action = "unlock" if owner is not None and owner.pin is not None else "enrol"
    return signed_in(session, who, action, present)


def _new_pin(person: str, file: Path | None) -> str:
    """The new PIN, typed twice where somebody types it.

    Raises:
        CannotDo: the two differ.
    """
    if file is not None:
        return first_line(file)
    if sys.stdin is None or not sys.stdin.isatty():
        return first_line(Path("-"))
    pin = typed(f"new PIN of {person}: ")
    if typed("the same again: ") != pin:
        what = "the two PINs differ"
        raise CannotDo(what, "nothing was set; do it again")
    return pin
