"""``docs/shop.md`` says what the code does: every setting, every action, examples that open."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from traveler.shop.folder import open_shop
from traveler.shop.settings import Settings
from traveler.verdict.authority import AUTHORITY, LABELS, ROLES

PAGE = (Path(__file__).parents[2] / "docs" / "shop.md").read_text(encoding="utf-8")


def test_every_setting_is_described_with_its_default() -> None:
    rows = dict(re.findall(r"^\| (`[^|]+`) \| ([^|]+) \|", PAGE, re.MULTILINE))
    described = {name: default for names, default in rows.items() for name in re.findall(r"`(\w+)`", names)}
    assert set(Settings.model_fields) - set(described) == {"format"}
    for name, field in Settings.model_fields.items():
        if (
            name != "format"
            and not field.is_required()
            and (default := field.get_default(call_default_factory=True))
        ):
            shown = f"[{', '.join(default)}]" if isinstance(default, tuple) else default
            assert f"`{shown}`" in described[name], name


@pytest.mark.parametrize("action", AUTHORITY)
def test_every_action_is_listed_with_its_roles(action: str) -> None:
    roles = "everybody" if AUTHORITY[action] == ROLES else ", ".join(AUTHORITY[action])
    assert f"| `{action}` | {LABELS[action]} | {roles} |" in PAGE


def test_the_examples_open_as_they_stand(tmp_path: Path) -> None:
    examples = re.findall(r"^## (\w+\.yaml)\n\n```yaml\n(.*?)```", PAGE, re.MULTILINE | re.DOTALL)
    assert [name for name, _ in examples] == ["shop.yaml", "people.yaml", "gauges.yaml"]
    for name, text in examples:
        (tmp_path / name).write_text(text, encoding="utf-8")
    people = tmp_path / "people.yaml"
    people.write_text(
        people.read_text() + "  - {id: iwren, name: I. Wren, roles: []}\n"
    )  # who is covered for
    assert open_shop(tmp_path).findings == ()
