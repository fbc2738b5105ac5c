"""Reading results that were written elsewhere: a spreadsheet, a text file, a filled traveler."""
