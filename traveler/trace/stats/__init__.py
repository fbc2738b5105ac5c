"""Statistics of readings: pure functions over sequences, frozen results."""
