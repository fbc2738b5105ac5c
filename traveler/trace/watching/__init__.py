"""What a director should know this week, from readings, stops, waiting units: each thing one notice."""
