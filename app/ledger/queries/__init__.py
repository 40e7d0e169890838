"""Reading the ledger: one module for each page, rows and records, never ORM entities."""
