"""What the numbers say of a product and of one check: statistics gathered, told in sentences, drawn."""
