"""The examples in docstrings of this room's numeric modules are true."""

import doctest
import importlib
import pkgutil

import pytest

import traveler.trace.stats

HERE = [f"traveler.trace.{name}" for name in ("factors", "ranking")]
BELOW = pkgutil.walk_packages(traveler.trace.stats.__path__, "traveler.trace.stats.")
MODULES = HERE + [module.name for module in BELOW]


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings_are_true(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples():
    attempted = sum(doctest.testmod(importlib.import_module(name)).attempted for name in MODULES)
    assert attempted >= 12
