"""Values worked out from several readings: planes, form, and the functions of a definition."""
