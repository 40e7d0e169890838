"""The household's page: who writes, what it owns, its settings; and the first run."""
