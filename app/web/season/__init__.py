"""Season: what the household has over the year, and what comes."""
