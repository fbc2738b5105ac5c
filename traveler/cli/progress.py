"""A progress bar with a rate, on stderr, where somebody looks on."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from typing import TypeVar

_Item = TypeVar("_Item")

FEW = 3
"""Fewer items than this need no bar."""


def watched(items: Iterable[_Item], total: int, what: str) -> Iterator[_Item]:
    """The items one by one, with a bar on stderr if it is a terminal and there are many."""
    if total < FEW or not sys.stderr.isatty():
        yield from items
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(),
        TextColumn("{task.fields[rate]}"), TimeRemainingColumn(),
    )  # fmt: skip
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=total, rate="")
        for item in items:
            yield item
            speed = bar.tasks[0].speed
            bar.update(task, advance=1, rate=f"{speed:.1f}/s" if speed else "")
