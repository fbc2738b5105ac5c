"""View models: finished texts and boxes, nothing left to decide in a template."""
