"""Floor 2: tables, sessions, migrations and the ledger."""
