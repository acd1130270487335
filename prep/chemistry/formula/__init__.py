"""Chemical formulas: composition, molar mass, hydrates."""
