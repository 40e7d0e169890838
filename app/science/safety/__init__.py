"""Safety rules as data, one module per topic; `verdicts` is the door for the ledger."""
