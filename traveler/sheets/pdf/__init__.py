"""From laid out pages to a finished PDF: fonts, codes, form fields, tags."""
