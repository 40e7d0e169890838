"""The ledger: what came in, what became of it, and where every gram is."""
