"""Pictures of readings for a black-and-white printer: one module a picture, one look for all."""
