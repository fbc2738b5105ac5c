"""Whatever the bytes: findings with a place, or entries; never an exception, never half a file."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.record.readers.blank import blank_csv, blank_yaml

NAMES = ["results.csv", "results.yaml", "traveler.pdf", "results.txt", "noname", ""]


def check(desk, content: bytes, file: str) -> bool:
    """Whether the file was taken; it must be all, or findings that say where."""
    understood = desk.read(content, file)
    blocks = [finding for finding in understood.findings if finding.weight == "blocking"]
    assert not (blocks and understood.drafts)
    assert all(finding.what and finding.place.file == file for finding in understood.findings)
    return not blocks


PIECES = [
    b"\x00", b'"', b",", b";", b"\xff\xfe", b"\xed\xa0\x80", b"{", b"[" * 50, b"&a ", b"*a", b"!!python/x ",
    b"=", b"\r", b"1e999", b"9" * 400, "İ✓٣".encode(), b"<<: ", b"/Kids [", b"endobj", b"#", b"\n\n",
    b"- ", b": ",
]  # fmt: skip


def samples(desk) -> dict[str, bytes]:
    row = '"10-4/spindle=1,end=near",0.041,mm,IND-03,tkiln,2026-09-14 10:20,,"a note, quoted"'
    yaml = "  10-1: yes\n  10-4/spindle=1,end=near:\n    - {value: 0.062 mm, as_found: yes}\n    - 0.041 mm"
    boxes = {"10-4/spindle=1,end=near": "0.041", "10-4#gauge": "IND-03", "10/sign": "tkiln", "10-1": "on"}
    return {
        "results.csv": desk.csv("10-1,x,,,,,,", row, "10/sign,tkiln,,,,2026-09-14 11:00,,"),
        "results.yaml": desk.yaml(yaml),
        "traveler.pdf": desk.pdf(boxes, ("10-1",)),
        "blank.csv": blank_csv(desk.plan, desk.serial).encode(),
        "blank.yaml": blank_yaml(desk.plan, desk.serial).encode(),
    }


def mutated(content: bytes, chance: random.Random) -> bytes:
    """One to four changes: a byte, a cut, a copy, a swap of lines, a hostile piece."""
    made = bytearray(content)
    for _ in range(chance.randint(1, 4)):
        at, to = sorted(chance.randrange(len(made) + 1) for _ in range(2))
        act = chance.randrange(5)
        if act == 0 and at < len(made):
            made[at] = chance.randrange(256)
        elif act == 1:
            del made[at : min(to, at + 40)]
        elif act == 2:
            made[at:at] = made[at:to][:200]
        elif act == 3:
            lines = bytes(made).split(b"\n")
            chance.shuffle(lines)
            made = bytearray(b"\n".join(lines))
        else:
            made[at:at] = chance.choice(PIECES)
    return bytes(made)


def try_mutations(desk, each: int, seed: int) -> tuple[int, int]:
    chance = random.Random(seed)
    taken = refused = 0
    for file, content in samples(desk).items():
        for _ in range(each):
            if check(desk, mutated(content, chance), file):
                taken += 1
            else:
                refused += 1
    return taken, refused


@settings(deadline=None, max_examples=200)
@given(content=st.binary(max_size=400), file=st.sampled_from(NAMES))
def test_arbitrary_bytes_never_raise(desk, content, file):
    check(desk, content, file)
    check(desk, b"%PDF-1.7\n" + content, file)


@settings(deadline=None, max_examples=200)
@given(cells=st.lists(st.lists(st.text(max_size=12), min_size=1, max_size=9), max_size=6))
def test_arbitrary_cells_never_raise(desk, cells):
    import csv
    import io

    made = io.StringIO()
    csv.writer(made).writerows(cells)
    check(desk, desk.csv() + made.getvalue().encode("utf-8", "replace"), "results.csv")


@settings(deadline=None, max_examples=200)
@given(
    slot=st.sampled_from(["10-1", "10-2", "10-4/spindle=1,end=near", "10-6", "10-8", "10/sign", "C-1"]),
    said=st.dictionaries(
        st.sampled_from(["value", "unit", "gauge", "by", "at", "as_found", "note"]), st.text(max_size=15)
    ),
)
def test_arbitrary_texts_in_the_right_places_never_raise(desk, slot, said):
    import json

    check(desk, desk.yaml(f'  "{slot}": {json.dumps(said)}'), "results.yaml")
    check(desk, desk.pdf({slot: said.get("value", ""), f"{slot}#at": said.get("at", "")}), "t.pdf")


def test_mutated_files_are_taken_whole_or_refused(desk):
    taken, refused = try_mutations(desk, 60, seed=7)
    assert taken
    assert refused


@pytest.mark.long
def test_ten_thousand_mutated_files_are_taken_whole_or_refused(desk):
    taken, refused = try_mutations(desk, 2_000, seed=11)
    print(f"10,000 mutated files: {taken} taken whole, {refused} refused with their place")
    assert taken + refused == 10_000
