"""Properties here have no deadline: the first call may load a slow library, and test machines are shared."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
