"""What a signature may say besides itself came later, and changes no byte of what was written before."""

from __future__ import annotations

import pytest

from traveler.record.entry import Decided, Noted, Released, Signable, Signed, Stopped, Struck
from traveler.record.readers.understand import DraftRead, without_duplicates
from traveler.record.store import Store
from traveler.record.stored import body_text, to_entry

BEFORE = {
    '{"kind":"signed"}': Signed(),
    '{"kind":"stopped","what":"dent"}': Stopped(what="dent"),
    '{"count":3,"head":"abc","kind":"released"}': Released(head="abc", count=3),
    '{"decision":"rework","kind":"decided","stop":4}': Decided(stop=4, decision="rework"),
    '{"kind":"struck","reason":"wrong","strikes":2}': Struck(strikes=2, reason="wrong"),
    '{"kind":"noted","text":"seen"}': Noted(text="seen"),
}
"""The text of a body as the first version hashed it → the body."""


@pytest.mark.parametrize("text", BEFORE)
def test_a_body_without_them_is_hashed_as_it_always_was(text: str) -> None:
    assert isinstance(BEFORE[text], Signable)
    assert body_text(BEFORE[text]) == text


@pytest.mark.parametrize("text", BEFORE)
def test_a_body_with_them_comes_back_whole(text: str, store: Store, samples) -> None:
    body = BEFORE[text].model_copy(update={"pin_checked": True, "instead_of": "qmoor"})
    with store.transaction() as work:
        kept = work.append(samples.draft("BW4-1", body, by="awick"), samples.now)
    with store.reading() as records:
        assert records.entries("BW4-1")[-1] == kept
        assert to_entry(records.rows("BW4-1")[-1]).body == body
    assert '"instead_of":"qmoor"' in body_text(body)
    assert '"pin_checked":true' in body_text(body)


def test_the_same_signature_given_again_adds_nothing_however_it_was_proved(store: Store, samples) -> None:
    drafts = samples.work("BW4-1")
    stood_in = drafts[-1].model_copy(update={"body": Signed(instead_of="qmoor", pin_checked=True)})
    with store.transaction() as work:
        already = work.append_all([*drafts[:-1], stood_in], samples.now)
    assert without_duplicates([DraftRead(draft, timed=True, named=True) for draft in drafts], already) == []
