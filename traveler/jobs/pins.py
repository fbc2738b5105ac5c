"""Giving a person a PIN, and letting somebody who was locked out try again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from traveler.finding import Finding, Place, blocking
from traveler.jobs.office import Office
from traveler.jobs.people_file import change_people, with_values
from traveler.jobs.signing import unsigned
from traveler.record.pin_trials import PinTrials
from traveler.shop.folder import PEOPLE_FILE
from traveler.shop.people import Person
from traveler.shop.pins import hash_pin, pin_is_right, weak_pin
from traveler.verdict.authority import holds_any, may_act, near, roles_for


@dataclass(frozen=True, slots=True)
class PinDone:
    """The file that was written, or None; and what stood in the way."""

    file: Path | None
    findings: tuple[Finding, ...]

    @property
    def done(self) -> bool:
        """Whether nothing stood in the way."""
        return not blocking(self.findings)


def may_set_pin(office: Office, person: str, by: str) -> tuple[Finding, ...]:
    """Why ``by`` may not set this person's PIN; empty if they may.

    A person changes their own with the one they have. A first PIN is set by somebody with the right to enrol,
    and freely as long as nobody with that right has a PIN themselves. A PIN that was forgotten is replaced by
    somebody with the right to unlock, never by its owner. Findings: PER001, PER003 the person; PIN004 the PIN
    of ``by`` was not given; PIN007 it takes somebody else; GAT002 that somebody has not the right.
    """
    people, settings = office.shop.people, office.shop.settings
    owner = people.get(person)
    if owner is None:
        hint = near(person, people)
        return (Finding("PER001", f"nobody in the shop has the id {person!r}", hint=hint),)
    if not owner.here(office.today):
        return (Finding("PER003", f"{person} left on {owner.left}, this is {office.today}"),)
    if by == person and owner.pin is not None:
        return _own(office, person)
    if people.get(by) is None:
        return (Finding("PER001", f"nobody in the shop has the id {by!r}", hint=near(by, people)),)
    action = "unlock" if owner.pin is not None else "enrol"
    if action == "enrol" and not _keepers(office):
        return ()
    if by == person:
        roles = " or ".join(roles_for(action, settings))
        what = f"the first PIN of {person} is set by somebody else"
        return (Finding("PIN007", what, why=_WHY, hint=f"ask somebody with the role {roles} (--by ID)"),)
    return (*may_act(action, by, office.today, people, settings), *unsigned(office, action, by))


def set_pin(office: Office, person: str, pin: str, by: str) -> PinDone:
    """Writes the hash of a new PIN into ``people.yaml``, with who set it, and clears the count of trials.

    Findings: those of :func:`may_set_pin`; PIN006 the PIN is no good one, or the one there was.

    Raises:
        CannotDo: the file is written in a way that cannot be changed safely.
        OSError: the file cannot be written.
    """
    findings = [*may_set_pin(office, person, by)]
    owner = office.shop.people.get(person)
    if owner is not None:
        findings += weak_pin(pin, least=office.shop.settings.pin_length, person=person)
        findings += _as_before(owner, pin) if not blocking(findings) else ()
    if blocking(findings):
        return PinDone(None, tuple(findings))
    by_hand = f"the PIN of {person} cannot be written by hand; set its line in order and try again"
    values = {"pin_set_by": by, "pin": hash_pin(pin)}
    file = change_people(office.shop.folder, with_values(person, values), by_hand)
    _clear(office, person)
    return PinDone(file, tuple(findings))


def unlock(office: Office, person: str, by: str) -> PinDone:
    """Takes the wrong PINs of a person off the count, so that they may try again at once.

    Findings: PER001 nobody of this id; PIN007 one's own; GAT002, PIN004, PIN005 whoever unlocks may not.
    """
    people, settings = office.shop.people, office.shop.settings
    if people.get(person) is None:
        hint = near(person, people)
        return PinDone(None, (Finding("PER001", f"nobody in the shop has the id {person!r}", hint=hint),))
    findings = [*may_act("unlock", by, office.today, people, settings), *unsigned(office, "unlock", by)]
    if by == person:
        roles = " or ".join(roles_for("unlock", settings))
        what = "nobody lifts their own lock-out"
        findings.append(Finding("PIN007", what, why=_WHY, hint=f"ask somebody with the role {roles}"))
    if not blocking(findings):
        _clear(office, person)
    return PinDone(None, tuple(findings))


_WHY = "a PIN shows who it was only if nobody else can put another in its place"


def _own(office: Office, person: str) -> tuple[Finding, ...]:
    """Their own PIN takes the one they have, whatever the shop asks PINs for."""
    if person in office.proven:
        return ()
    what = f"to change it asks for the present PIN of {person}"
    return (Finding("PIN004", what, why=_WHY, hint="whoever forgot it asks quality or the director"),)


def _keepers(office: Office) -> bool:
    """Whether anybody who may enrol has a PIN, so that first PINs can be asked of them."""
    roles, day = roles_for("enrol", office.shop.settings), office.today
    return any(one.pin is not None and holds_any(one, roles, day) for one in office.shop.people.people)


def _as_before(owner: Person, pin: str) -> Iterator[Finding]:
    if owner.pin is not None and pin_is_right(owner.pin, pin):
        what = "this is the PIN there was"
        yield Finding("PIN006", what, Place(PEOPLE_FILE), hint="take another")


def _clear(office: Office, person: str) -> None:
    with office.store.transaction() as work:
        trials = work.hold_pin_trials(person, work.clock())
        work.note_pin_trials(person, PinTrials(0, trials.last))
