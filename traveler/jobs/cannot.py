"""The one exception a job raises for a person: what was asked cannot be done."""

from __future__ import annotations


class CannotDo(Exception):  # noqa: N818 - it is an answer to a person, not a defect
    """Bad usage, no such serial, store out of reach. The command line answers with exit code 2.

    Attributes:
        what: the reason, one sentence without a full stop.
        hint: what to do about it, or empty.
    """

    def __init__(self, what: str, hint: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.hint = hint
