"""What every part may use: errors, language, units of measurement, files read with suspicion."""
