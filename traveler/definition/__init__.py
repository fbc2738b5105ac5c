"""Product definitions: YAML with places, the model, checking, and the plan of one variant."""
