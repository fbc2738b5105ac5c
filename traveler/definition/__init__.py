"""Product definitions: YAML with places, the model, checking, and the plan of one variant."""

from traveler.definition.digest import canonical, digest, from_canonical
from traveler.definition.expand import expand
from traveler.definition.load import Loaded, load

__all__ = ["Loaded", "canonical", "digest", "expand", "from_canonical", "load"]
