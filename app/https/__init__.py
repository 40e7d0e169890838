"""https for the household: its own certificate authority, and the lock on the second port."""
