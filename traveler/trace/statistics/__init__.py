"""Statistics over readings: pure functions over plain sequences, frozen results with ``as_dict``."""
