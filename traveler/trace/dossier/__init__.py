"""Everything about one unit, laid out for whoever has a customer on the phone."""
