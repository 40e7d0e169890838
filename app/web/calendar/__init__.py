"""The calendar of what comes due, for the phones of the household."""
