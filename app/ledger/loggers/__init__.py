"""Temperature loggers' files: text in, readings in UTC out. No database, no web."""
