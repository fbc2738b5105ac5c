"""Product definitions: YAML with places, the model, its checks, and the plan of one variant."""
