"""Docstrings are right: their examples give what they say, and what they refer to is there."""

from __future__ import annotations

import ast
import doctest
import importlib
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

import traveler

MODULES = sorted(
    module.name
    for module in pkgutil.walk_packages(traveler.__path__, "traveler.")
    if ".migrations." not in module.name and not module.name.endswith("__main__")
)
"""Migrations run only within a database, and ``__main__`` runs the program."""

REFERENCE = re.compile(r":(?:func|class|data|meth|attr|mod|exc):`([\w.]+)`")


@pytest.mark.parametrize("name", MODULES)
def test_examples_give_what_they_say(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples() -> None:
    examples = sum(doctest.testmod(importlib.import_module(name)).attempted for name in MODULES)
    assert examples >= 60


@pytest.mark.parametrize("name", MODULES)
def test_references_lead_somewhere(name: str) -> None:
    module = importlib.import_module(name)
    text = Path(str(module.__file__)).read_text(encoding="utf-8")
    assert lost(text, module) == []


def test_a_reference_that_leads_nowhere_is_found() -> None:
    module = importlib.import_module("traveler.files")
    text = '''
class Path:
    """See :meth:`exists`, :func:`write_whole`, :func:`traveler.files.replacing`, :mod:`traveler.text`."""
    """See :func:`traveler.files.nowhere`, :mod:`traveler.nowhere`, :func:`nowhere`."""
"""See :meth:`exists`, :attr:`Path.nowhere`."""
'''
    nowhere = ["traveler.files.nowhere", "traveler.nowhere", "nowhere", "exists", "Path.nowhere"]
    assert sorted(lost(text, module)) == sorted(nowhere)


def test_there_are_references() -> None:
    texts = [
        Path(str(importlib.import_module(name).__file__)).read_text(encoding="utf-8") for name in MODULES
    ]
    assert sum(len(REFERENCE.findall(text)) for text in texts) >= 100


def lost(text: str, module: ModuleType) -> list[str]:
    """The references of a module's text that lead nowhere."""
    return [name for name, around in references(ast.parse(text), (module,)) if not leads(name, around)]


def references(node: ast.AST, around: tuple[object, ...]) -> Iterator[tuple[str, tuple[object, ...]]]:
    """Each reference, with the module and the classes it stands in."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield from ((name, around) for name in REFERENCE.findall(node.value))
    if isinstance(node, ast.ClassDef):
        around = (*around, getattr(around[-1], node.name, None))
    for part in ast.iter_child_nodes(node):
        yield from references(part, around)


def leads(name: str, around: tuple[object, ...]) -> bool:
    """Whether the name is one of the module or of the class, or the full name of something."""
    if any(is_part(home, name.split(".")) for home in around):
        return True
    parts = name.split(".")
    for end in range(len(parts), 0, -1):
        try:
            module = importlib.import_module(".".join(parts[:end]))
        except ModuleNotFoundError:
            continue
        return is_part(module, parts[end:])
    return False


def is_part(home: object, names: list[str]) -> bool:
    """Whether the names lead on from here; fields without a default are only annotated."""
    for name in names:
        if not hasattr(home, name):
            return name == names[-1] and name in getattr(home, "__annotations__", {})
        home = getattr(home, name)
    return True
