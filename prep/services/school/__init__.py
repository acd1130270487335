"""A school's own facts: settings, days, glassware, its folder of files."""
