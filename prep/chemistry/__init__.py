"""Floor 0, pure: quantities, formulas, strengths, dilution, acids and bases, measuring."""
