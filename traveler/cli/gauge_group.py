"""The group ``traveler gauge``, which several modules add commands to."""

from __future__ import annotations

import typer

GROUP = "gauge"


def gauge_group(app: typer.Typer) -> typer.Typer:
    """The group; made where no other module made it before."""
    made = (
        registered_group.typer_instance
        for registered_group in app.registered_groups
        if registered_group.name == GROUP
    )
    group = next((typer_instance for typer_instance in made if typer_instance is not None), None)
    if group is None:
        about = "Gauges: the register, calibrations, recalls, and studies of what they are worth."
        group = typer.Typer(no_args_is_help=True, help=about)
        app.add_typer(group, name=GROUP)
    return group
