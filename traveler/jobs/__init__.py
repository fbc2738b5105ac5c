"""One module for each thing a person does."""
