"""The same meaning has the same digest, any changed text another; a kept content loads again."""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Callable

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from traveler.definition.load import load
from traveler.definition.model import Definition, canonical_content, definition_digest, from_canonical

Write = Callable[..., str]
Good = Callable[[str], Definition]


def defined(text: str) -> Definition:
    found = load(text, "f.yaml", bool)
    assert found.definition is not None, "\n".join(map(str, found.findings))
    return found.definition


def test_comments_quotes_line_endings_and_flow_style_change_nothing(write: Write, good: Good) -> None:
    text = write()
    first = definition_digest(good(text))
    commented = "# a comment\n" + text.replace("revision: A", "revision: A   # first")
    quoted = text.replace("product: lathe", 'product: "lathe"')
    mark = text.replace("\n", "\r\n")
    flow = text.replace("  spindle: {count: spindles}", "  spindle:\n    count: spindles")
    short = text.replace("  spindle: {count: spindles}", "  spindle: spindles")
    for same in (commented, quoted, mark, flow, short, "\ufeff" + text):
        assert definition_digest(good(same)) == first


def test_a_default_written_out_changes_nothing(write: Write, good: Good) -> None:
    assert definition_digest(good(write(tail="format: 1\ntrack: serial\n"))) == definition_digest(
        good(write())
    )


def test_the_order_of_keys_has_no_meaning(write: Write, good: Good, shipped: dict[str, str]) -> None:
    for text in (write(), *shipped.values()):
        content = yaml.load(text, Loader=yaml.CBaseLoader)  # noqa: S506 - it makes texts only
        turned = yaml.dump(_turned(content), allow_unicode=True, sort_keys=False, default_style='"')
        assert definition_digest(defined(turned)) == definition_digest(defined(text))


def _turned(value: object, key: str = "") -> object:
    if isinstance(value, dict):
        entries = list(value.items()) if key == "at" else list(reversed(value.items()))
        return {name: _turned(item, name) for name, item in entries}
    return [_turned(inner, key) for inner in value] if isinstance(value, list) else value


def test_the_order_of_positions_of_a_step_has_a_meaning(operation: Write, good: Good) -> None:
    first, second = (
        good(operation(f"- do: Look.\n  at: {{{at}}}\n")) for at in ("row: 2, column: 3", "column: 3, row: 2")
    )
    assert definition_digest(first) != definition_digest(second)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("max 0.05 mm", "max 0.050 mm"),
        ("max 0.05 mm", "max 0.06 mm"),
        ("measure: Run-out", "measure: Run-out "),
        ("measure: Run-out", "measure: Run-outs"),
        ("revision: A", "revision: B"),
        ("spindles: 3", "spindles: 4"),
        ("at: [spindle, end]", "at: [end, spindle]"),
        ("mass: 22.5 kg", "mass: 22.50 kg"),
    ],
)
def test_any_changed_text_changes_the_digest(write: Write, good: Good, old: str, new: str) -> None:
    text = write()
    changed = text.replace(old, new)
    same = new.rstrip() == old
    assert (definition_digest(good(changed)) == definition_digest(good(text))) is same


def test_one_spelling_of_characters_that_look_the_same(operation: Write, good: Good) -> None:
    texts = ["- do: Étau at 5 µm", "- do: Étau at 5 \u03bcm"]
    texts.append(unicodedata.normalize("NFD", texts[0]))
    assert len({definition_digest(good(operation(text))) for text in texts}) == 1
    plain = good(operation(texts[2])).operations[0].steps[0].text
    assert plain == unicodedata.normalize("NFC", texts[0])[6:]


def test_the_content_is_canonical_json_of_texts(write: Write, good: Good) -> None:
    content = canonical_content(good(write()))
    read = json.loads(content)
    assert read["format"] == "1"
    assert list(read) == sorted(read)
    assert b"0.05" in content
    assert not any(isinstance(inner, int | float) for inner in _leaves(read))
    assert definition_digest(good(write())) == hashlib.sha256(content).hexdigest()


def _leaves(value: object) -> list[object]:
    if isinstance(value, dict):
        return [leaf for inner in value.values() for leaf in _leaves(inner)]
    return [leaf for inner in value for leaf in _leaves(inner)] if isinstance(value, list) else [value]


def test_a_kept_content_loads_to_the_same_content(shipped: dict[str, str]) -> None:
    for text in shipped.values():
        content = canonical_content(defined(text))
        assert canonical_content(from_canonical(content)) == content


@pytest.mark.parametrize("content", [b"", b"{}", b"[]", b'{"product": 3}', b"\xff", b'{"format": "2"}'])
def test_other_bytes_are_refused(content: bytes) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 - JSON, Unicode and model errors are all of this kind
        from_canonical(content)


@given(st.text(st.characters(categories=("L", "N", "P", "Zs", "S")), min_size=1, max_size=40))
@settings(deadline=None)
def test_any_two_texts_that_differ_on_paper_differ_in_digest(text: str) -> None:
    written = json.dumps(text, ensure_ascii=False)
    base = "product: x\ntitle: {title}\nrevision: A\nrevised: 2026-01-05\napproved_by: r\n"
    serials = 'serials: {pattern: "X{n}"}\n'
    rest = "variants: {a: {title: A}}\noperations: [{number: 1, title: T, steps: [{do: Do.}], sign: a}]\n"
    first, other = (
        load(base.format(title=item) + serials + rest, "f", bool).definition
        for item in (written, '"something else"')
    )
    if first is not None and other is not None:
        assert (definition_digest(first) == definition_digest(other)) is (first.title == "something else")
        assert from_canonical(canonical_content(first)) == first
